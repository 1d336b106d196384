"""Valid records of an invented firm; a test names only what matters to it."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID

from service.core.acceptance.fees import Fee, FeeBasis
from service.core.acceptance.hours import OpeningHours
from service.core.jobs import Job, JobState, LotFinding
from service.core.materials import GrassKind, TreatmentHistory, Wetness
from service.core.measures.estimates import Estimate
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.places import Bed, CompostSite, Depot, Drainage, GroundState, HoldBay, Point
from service.core.treatments import StatementSource, Treatment
from service.destinations.keeping import KeepingTime
from service.destinations.verdicts import Lot
from service.rules.lookup import Rulebook

DAY = date(2026, 5, 20)  # a Wednesday
NOON = datetime(2026, 5, 20, 11, 0, tzinfo=UTC)
FIRM = UUID(int=1)
HOME = UUID(int=2)
LAWN = UUID(int=3)
RULES = Rulebook.load()
PLACE = Point(latitude=51.5, longitude=-2.5)
JURISDICTION = "GB-ENG"


def kept(number: int) -> dict[str, object]:
    """Return what every record has."""
    return {
        "id": UUID(int=1000 + number),
        "firm_id": FIRM,
        "version": 1,
        "created_at": NOON,
        "updated_at": NOON,
    }


def about(likely: float, *, unit: str, spread: float = 2.0) -> Estimate:
    """Return an estimate with a spread."""
    return Estimate(
        low=likely / spread,
        likely=likely,
        high=likely * spread,
        unit=unit,
        basis="test",
        sources=(),
    )


def a_bed(**changes: object) -> Bed:
    """Return a bed that takes clean clippings: dry, wanted, lawful, away from water."""
    bed = Bed(
        **kept(1),
        property_id=HOME,
        name="Rose border",
        area=Measure(value=40.0, unit="m2"),
        drainage=Drainage.FREE,
        ground_state=GroundState.FIRM,
        water_distance_m=400.0,
        well_distance_m=400.0,
        consent=Consent(state=ConsentState.GIVEN),
        legal_basis=LegalBasis(
            kind=LegalBasisKind.REGISTERED_EXEMPTION, reference="EX 1", expires_on=date(2027, 5, 1)
        ),
    )
    return replace(bed, **changes)


def a_site(**changes: object) -> CompostSite:
    """Return a site that is open on weekdays from 8 to 16, last load 15:30."""
    site = CompostSite(
        **kept(2),
        name="Hill compost",
        operator="R. Field",
        address="Hill Lane",
        point=PLACE,
        time_zone="Europe/London",
        jurisdiction=JURISDICTION,
        daily_capacity_kg=5000.0,
        fee=Fee(basis=FeeBasis.PER_TONNE, amount_cents=4000),
        takes_sour=True,
        hours=tuple(
            OpeningHours(weekday=day, opens=time(8), closes=time(16), last_load=time(15, 30))
            for day in range(5)
        ),
    )
    return replace(site, **changes)


def a_bay(**changes: object) -> HoldBay:
    """Return a bay of 8 m3."""
    return replace(HoldBay(**kept(3), depot_id=UUID(int=9), name="Bay", volume_m3=8.0), **changes)


def a_depot(**changes: object) -> Depot:
    """Return a depot in England."""
    depot = Depot(
        **kept(4),
        name="Yard",
        address="Yard Lane",
        point=PLACE,
        time_zone="Europe/London",
        jurisdiction=JURISDICTION,
    )
    return replace(depot, **changes)


def a_job(**changes: object) -> Job:
    """Return a mown job of 500 m2, 25 mm, dry, nothing on record."""
    job = Job(
        **kept(5),
        property_id=HOME,
        lawn_id=LAWN,
        crew_id=UUID(int=7),
        vehicle_id=UUID(int=8),
        depot_id=UUID(int=9),
        state=JobState.MOWN,
        cut_at=NOON,
        area_mowed=Measure(value=500.0, unit="m2"),
        height_removed=Measure(value=25.0, unit="mm"),
        grass_kind=GrassKind.COOL_SEASON,
        wetness=Wetness.DRY,
        treatment_history=TreatmentHistory.NONE_RECORDED,
        lot_code="L-TEST",
    )
    return replace(job, **changes)


def a_lot(*findings: LotFinding, **changes: object) -> Lot:
    """Return a clean lot of about 100 kg and 400 litres."""
    lot = Lot(
        job_id=UUID(int=20),
        lot_code="L-TEST",
        property_id=HOME,
        mass_kg=about(100.0, unit="kg"),
        volume_m3=about(0.4, unit="m3"),
        nitrogen_kg=about(0.7, unit="kg"),
        carbon_to_nitrogen=about(14.0, unit="1", spread=1.3),
        cut_at=NOON,
        wetness=Wetness.DRY,
        keeps=KeepingTime(amber=timedelta(hours=6), red=timedelta(hours=24)),
        findings=findings,
        waits={},
    )
    return replace(lot, **changes)


def a_treatment(**changes: object) -> Treatment:
    """Return a treatment with 2,4-D a week before the day."""
    treatment = Treatment(
        **kept(6),
        lawn_id=LAWN,
        product="Lawn weed killer",
        active_ingredients=("2,4-D",),
        applied_on=date(2026, 5, 13),
        statement_source=StatementSource.APPLICATOR_RECORD,
        stated_by="P. Rowe",
    )
    return replace(treatment, **changes)
