"""What an invented firm has: its clients and their land, its yard, vehicles, crews and sites."""

from datetime import UTC, date, datetime, time, timedelta

from uuid_utils.compat import uuid7

from service.core.acceptance.fees import Fee, FeeBasis
from service.core.acceptance.hours import OpeningHours
from service.core.acceptance.kills import Kill, KillEvidence
from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.acceptance.terms import SiteTerms
from service.core.callers.access import ApiKey, Firm, Role
from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.materials import GrassKind, LotStatus
from service.core.measures.estimates import Estimate
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import GroundKind, LegalBasis, LegalBasisKind
from service.core.places import (
    Animals,
    Bed,
    Client,
    CompostSite,
    Depot,
    DisplayUnits,
    Drainage,
    GroundState,
    HoldBay,
    Lawn,
    OpeningBalance,
    Point,
    Property,
)

NOW = datetime(2026, 5, 24, 9, 30, 0, 123456, tzinfo=UTC)
DAY = date(2026, 5, 24)


def estimate(likely=180.1, unit="kg"):
    return Estimate(
        low=likely * 0.7,
        likely=likely,
        high=likely * 1.3,
        unit=unit,
        basis="area and height",
        sources=("a-2001", "b-2010"),
    )


class Places:
    """One firm with what it has: clients, land, yard, by the names of the repositories."""

    def __init__(self, *, name="Meadow & Daughters"):
        self.firm = Firm(
            id=uuid7(),
            name=name,
            address="1 Depot Lane",
            phone="+1 555 0100",
            currency="EUR",
            created_at=NOW,
        )
        self.key = ApiKey(
            id=uuid7(),
            firm_id=self.firm.id,
            role=Role.OWNER,
            name="the office",
            secret_sha256=uuid7().hex * 2,
            created_at=NOW,
        )
        self._land()
        self._yard()

    def base(self):
        return {
            "id": uuid7(),
            "firm_id": self.firm.id,
            "version": 1,
            "created_at": NOW,
            "updated_at": NOW,
        }

    def _land(self):
        self.clients = Client(
            **self.base(),
            name="R. Álvarez",
            phone="+1 555 0101",
            email="r@example.org",
            address="12 Orchard Street",
            language="es",
            display_units=DisplayUnits.US,
            erased_at=NOW,
        )
        self.properties = Property(
            **self.base(),
            client_id=self.clients.id,
            name="Orchard house",
            address="12 Orchard Street",
            locality="Anytown",
            point=Point(latitude=51.1, longitude=-0.1),
            access_notes="left of the shed",
            may_sign="P. Álvarez",
            erased_at=NOW,
        )
        self.lawns = Lawn(
            **self.base(),
            property_id=self.properties.id,
            name="Front",
            area=Measure(value=0.1, unit="[acr_us]"),
            grass_kind=GrassKind.COOL_SEASON,
            mowing_hours=(
                OpeningHours(weekday=1, opens=time(9), closes=time(12), last_load=time(11, 30)),
            ),
        )
        self.beds = Bed(
            **self.base(),
            property_id=self.properties.id,
            name="Roses",
            area=Measure(value=323.0, unit="[sft_i]"),
            drainage=Drainage.FREE,
            ground_state=GroundState.FIRM,
            ground_state_at=NOW,
            edible=True,
            organic_certified=True,
            water_distance_m=12.3,
            well_distance_m=55.5,
            water_protection_zone=False,
            animals=(Animals.POULTRY, Animals.DOGS_OR_CATS),
            animals_beside=(Animals.HORSES,),
            grazing_fenced=True,
            slope_percent=3.3,
            sensitive_plants="heather",
            near_drain_or_paving=False,
            point=Point(latitude=51.2, longitude=-0.2),
            consent=Consent(
                state=ConsentState.GIVEN,
                given_on=date(2026, 1, 2),
                expires_on=date(2027, 1, 2),
                mass_per_visit_max_kg=300.1,
                mass_per_visit_min_kg=20.5,
                mass_per_month_max_kg=300.5,
            ),
            legal_basis=LegalBasis(
                kind=LegalBasisKind.PERMIT, reference="P 7", expires_on=date(2027, 3, 1)
            ),
            where_to_lay="around the roses",
            feeds_ended_at=NOW,
            hours=(OpeningHours(weekday=2, opens=time(22), closes=time(6), last_load=time(5, 30)),),
            closed_on=(date(2026, 12, 24),),
            opening_balance=OpeningBalance(
                mass_kg=90.5, nitrogen_kg=0.45, laid_on=date(2026, 3, 20), stated_by="Ann"
            ),
            ground_kind=GroundKind.PRIVATE_GARDEN,
        )

    def _yard(self):
        self.depots = Depot(
            **self.base(),
            name="Yard",
            address="1 Depot Lane",
            point=Point(latitude=51.0, longitude=0.0),
            time_zone="Europe/London",
            shift_starts=time(6, 45),
            shift_ends=time(18, 15),
            jurisdiction="GB-ENG",
            fairness_limit_kg_per_m2=2.1,
            fairness_price_cents_per_t_per_kg_per_m2=1500,
            crew_minute_cents=75,
        )
        self.hold_bays = HoldBay(
            **self.base(),
            depot_id=self.depots.id,
            name="Bay 1",
            volume_m3=40.5,
            leachate_contained=True,
        )
        self.vehicles = Vehicle(
            **self.base(),
            depot_id=self.depots.id,
            registration="AB12 CDE",
            name="Tipper",
            payload_kg=1100.1,
            body_volume_m3=6.7,
            gross_limit_kg=3500.0,
            tare_kg=2300.0,
            used_until=date(2031, 3, 31),
            parked_point=Point(latitude=51.0, longitude=-2.0),
            parked_at=NOW,
        )
        self.vehicle_outages = VehicleOutage(
            **self.base(),
            vehicle_id=self.vehicles.id,
            day=DAY,
            out_since=NOW,
            back_at=NOW + timedelta(hours=3),
            reason="Clutch",
            point=Point(latitude=51.05, longitude=-0.05),
            remarks="towed by Dent",
        )
        self.crews = Crew(
            **self.base(),
            depot_id=self.depots.id,
            name="Crew 1",
            lead="J.",
            phone="+1 555 0102",
            vehicle_id=self.vehicles.id,
            language="pl",
            used_until=date(2031, 4, 30),
        )
        self.compost_sites = CompostSite(
            **self.base(),
            name="North heap",
            operator="Heap Ltd",
            address="Heap Road",
            point=Point(latitude=51.3, longitude=-0.3),
            time_zone="Europe/London",
            jurisdiction="GB-ENG",
            phone="+1 555 0103",
            accepted_statuses=(LotStatus.CLEAN, LotStatus.WEEDY),
            hours=(
                OpeningHours(weekday=0, opens=time(8), closes=time(16, 30), last_load=time(16, 15)),
            ),
            closed_on=(date(2026, 12, 25),),
            daily_capacity_kg=20000.5,
            fee=Fee(basis=FeeBasis.PER_TONNE, amount_cents=4250, minimum_cents=1000),
            live_status=LiveStatus(
                state=SiteState.OPEN,
                as_of=NOW,
                capacity_left_kg=1234.5,
                closes_early_at=NOW + timedelta(hours=5),
                note="mud",
            ),
            process_temperature_c=65.5,
            process_days=14.5,
            process_turnings=3,
            takes_sour=False,
            terms_from=date(2026, 5, 1),
            terms_before=(
                SiteTerms(
                    holds_from=date(2026, 1, 1),
                    fee=Fee(basis=FeeBasis.PER_LOAD, amount_cents=900, minimum_cents=0),
                    accepted_statuses=(LotStatus.CLEAN,),
                    takes_sour=True,
                    hours=(
                        OpeningHours(weekday=1, opens=time(9), closes=time(15), last_load=time(14)),
                    ),
                ),
            ),
            feeds_ended_at=NOW,
            kill_evidence=(
                KillEvidence(
                    kill=Kill.WEED_SEED,
                    reference="Test 12",
                    shown_on=date(2026, 3, 1),
                    valid_until=date(2027, 3, 1),
                ),
            ),
        )
