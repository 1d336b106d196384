"""An invented firm's books: one full record of every kind, each naming the others rightly."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone

from uuid_utils.compat import uuid7

from service.core.callers.access import Amendment, ApiKey, Firm, Role
from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.estimates import Estimate, Factor
from service.core.evidence.closings import DayClosing
from service.core.evidence.recalls import BroughtSince, CallMade, Recall, RecalledLawn
from service.core.hours import OpeningHours
from service.core.jobs import Job, JobState, LotEstimate, LotFinding
from service.core.kills import Kill, KillEvidence
from service.core.live_status import LiveStatus, SiteState
from service.core.loads import (
    BayLoading,
    HeapTemperature,
    HoldEntry,
    Load,
    LoadPart,
    LoadState,
    ReleasedAs,
)
from service.core.materials import GrassKind, LotStatus, TreatmentHistory, Wetness
from service.core.notes import Acknowledgement, DeliveryNote, Receipt
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import GroundKind, LegalBasis, LegalBasisKind
from service.core.places import (
    Animals,
    Bed,
    Client,
    CompostSite,
    Depot,
    DestinationKind,
    DisplayUnits,
    Drainage,
    Fee,
    FeeBasis,
    GroundState,
    HoldBay,
    Lawn,
    OpeningBalance,
    Point,
    Property,
)
from service.core.plans import DayPlan, WorkingDay
from service.core.quantities import Measure
from service.core.treatments import Bioassay, LabelWait, StatementSource, Treatment

NOW = datetime(2026, 5, 24, 9, 30, 0, 123456, tzinfo=UTC)
DAY = date(2026, 5, 24)
# Kept in this order, every record finds those it names.
ORDER = (
    "clients",
    "properties",
    "lawns",
    "beds",
    "depots",
    "hold_bays",
    "vehicles",
    "vehicle_outages",
    "crews",
    "compost_sites",
    "treatments",
    "jobs",
    "day_plans",
    "day_closings",
    "recalls",
    "working_days",
    "loads",
    "hold_entries",
    "delivery_notes",
)


def estimate(likely=180.1, unit="kg"):
    return Estimate(
        low=likely * 0.7,
        likely=likely,
        high=likely * 1.3,
        unit=unit,
        basis="area and height",
        sources=("a-2001", "b-2010"),
    )


class Books:
    """One firm with one record of every kind, by the name of its repository."""

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
        for make in (self._land, self._yard, self._work, self._papers):
            make()

    def all(self):
        return {name: getattr(self, name) for name in ORDER}

    def keep(self, unit):
        """Keep the firm, its key and every record."""
        unit.firms.add(self.firm)
        unit.api_keys.add(self.key)
        for name, record in self.all().items():
            unit.repository(name).add(record)

    def base(self):
        return {
            "id": uuid7(),
            "firm_id": self.firm.id,
            "version": 1,
            "created_at": NOW,
            "updated_at": NOW,
        }

    def another(self, kind, /, **changes):
        """Return one more record of a kind, with an id of its own."""
        return replace(getattr(self, kind), id=uuid7(), **changes)

    def amendment(self, **changes):
        values = {
            "id": uuid7(),
            "firm_id": self.firm.id,
            "record_kind": "lawns",
            "record_id": self.lawns.id,
            "record_version": 2,
            "at": NOW,
            "key_id": self.key.id,
            "reason": "measured again",
            "changes": {"name": ["Front", "Front lawn"]},
        }
        return Amendment(**values | changes)

    def _land(self):
        self.clients = Client(
            **self.base(),
            name="R. Álvarez",
            phone="+1 555 0101",
            email="r@example.org",
            address="12 Orchard Street",
            language="es",
            display_units=DisplayUnits.US,
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

    def _work(self):
        self.treatments = Treatment(
            **self.base(),
            lawn_id=self.lawns.id,
            product="Weedgone",
            active_ingredients=("2,4-D", "mecoprop-P"),
            applied_on=date(2026, 3, 1),
            statement_source=StatementSource.CLIENT_STATEMENT,
            stated_by="R. Álvarez",
            label_wait=LabelWait(days=28, mowings=4, leave_on_lawn=True),
            people_may_return_at=NOW,
            remarks="from the invoice",
            bioassay=Bioassay(clippings_cut_on=date(2026, 5, 1), passed=True, stated_by="Ann"),
        )
        self.jobs = Job(
            **self.base(),
            property_id=self.properties.id,
            lawn_id=self.lawns.id,
            crew_id=self.crews.id,
            vehicle_id=self.vehicles.id,
            depot_id=self.depots.id,
            state=JobState.MOWN,
            planned_at=NOW - timedelta(days=1),
            cut_at=datetime(2026, 5, 24, 7, 15, tzinfo=timezone(timedelta(hours=-5))),
            minutes_on_site=45,
            area_mowed=Measure(value=350.1, unit="m2"),
            height_before=Measure(value=3.1, unit="[in_i]"),
            height_after=Measure(value=2.0, unit="[in_i]"),
            height_removed=Measure(value=1.1, unit="[in_i]"),
            grass_kind=GrassKind.COOL_SEASON,
            wetness=Wetness.DEWY,
            weeds_in_seed=True,
            treatment_history=TreatmentHistory.KNOWN,
            measured_mass=Measure(value=0.1, unit="[ston_av]"),
            measured_volume=Measure(value=1.3, unit="[cyd_i]"),
            remarks="gate was open",
            lot_code="L-2345678",
            estimate=LotEstimate(
                dry_matter_kg=estimate(40.1),
                mass_kg=estimate(180.1),
                volume_m3=estimate(0.7, "m3"),
                nitrogen_kg=estimate(1.1),
                carbon_to_nitrogen=estimate(15.5, "1"),
                one_third_rule_broken=True,
                factors=(Factor(name="yield", value=estimate(0.3)),),
                rulebook_version="2026-05",
            ),
            status=LotStatus.TREATED,
            findings=(
                LotFinding(
                    status=LotStatus.TREATED,
                    code="clock_running",
                    facts={"until": DAY, "mowings": 2, "share": 0.1, "who": None, "lots": ["a"]},
                ),
            ),
            reported_as_id=uuid7(),
        )
        self.day_plans = DayPlan(
            **self.base(),
            depot_id=self.depots.id,
            day=DAY,
            sequence=1,
            revision=3,
            planned_at=NOW,
            rulebook_version="2026-05",
            cost_cents=123456,
            bound_cents=120000,
            bound_proven=True,
            routing={"vehicles": [{"stops": [1, 2.0, 1e22, 0.1]}], "at": NOW.isoformat()},
            record_versions={str(self.depots.id): 2},
        )
        self.recalls = Recall(
            **self.base(),
            reason="Aminopyralid was found.",
            content={"people": [], "lots": []},
            sha256="0" * 64,
            job_ids=(self.jobs.id,),
            bed_ids=(self.beds.id,),
            load_ids=(uuid7(),),
            lawns=(RecalledLawn(lawn_id=self.lawns.id, since=DAY),),
            is_open=False,
            ended_at=NOW,
            key_id=self.key.id,
            calls=(CallMade(number=0, at=NOW, key_id=self.key.id, said="Will wait."),),
            brought_since=(
                BroughtSince(
                    load_id=uuid7(),
                    place_id=self.beds.id,
                    at=NOW,
                    role="client",
                    name="R. Second",
                    phone="555 0100",
                    language="en",
                    say=("Leave it where it lies.",),
                ),
            ),
        )
        self.day_closings = DayClosing(
            **self.base(),
            depot_id=self.depots.id,
            day=DAY,
            sequence=1,
            closed_at=NOW,
            key_id=self.key.id,
            remarks="Two lawns were too wet.",
            content={"still_open": []},
            sha256="0" * 64,
        )
        self.working_days = WorkingDay(
            **self.base(),
            depot_id=self.depots.id,
            day=DAY,
            revision=3,
            planned_revision=3,
            plan_id=self.day_plans.id,
        )

    def _papers(self):
        self.loads = Load(
            **self.base(),
            depot_id=self.depots.id,
            working_day=DAY,
            plan_id=self.day_plans.id,
            vehicle_id=self.vehicles.id,
            crew_id=self.crews.id,
            destination_kind=DestinationKind.BED,
            destination_id=self.beds.id,
            state=LoadState.DELIVERED,
            locked=True,
            sequence=2,
            after_job_id=self.jobs.id,
            arrive_at=NOW,
            parts=(LoadPart(job_id=self.jobs.id, lot_code="L-2345678", share=1 / 3),),
            status=LotStatus.CLEAN,
            mass_kg=estimate(),
            volume_m3=estimate(0.7, "m3"),
            nitrogen_kg=estimate(1.1),
            weighed_net=Measure(value=0.17, unit="[lton_av]"),
            weigh_ticket="W-1",
            refusal_reason="too wet",
            refused_share=0.1,
            done_at=NOW,
            fee_cents=1999,
            override_reason="the client dug a pit",
            chosen_by_id=self.key.id,
            at_gate_at=NOW,
            explanation={"chosen": str(self.beds.id), "numbers": [1, 1.5, -0.0]},
        )
        self.hold_entries = HoldEntry(
            **self.base(),
            hold_bay_id=self.hold_bays.id,
            load_id=self.loads.id,
            lot_codes=("L-2345678",),
            status=LotStatus.UNKNOWN,
            mass_kg=estimate(),
            volume_m3=estimate(0.7, "m3"),
            reason_code="history_unknown",
            reason="Nobody knows what was sprayed.",
            release_condition_code="ask_client",
            release_condition="The client says what was sprayed.",
            cut_at=NOW,
            amber_at=NOW + timedelta(hours=12),
            red_at=NOW + timedelta(hours=24),
            held_since=NOW,
            released_at=NOW,
            released_to="North heap",
            released_as=ReleasedAs.PLACE,
            released_to_kind=DestinationKind.BED,
            released_to_id=self.beds.id,
            released_with_id=self.vehicles.id,
            released_load_id=self.loads.id,
            temperatures=(
                HeapTemperature(depth_mm=400.5, temperature_c=52.5, at=NOW, measured_by="Sam"),
            ),
            loadings=(
                BayLoading(
                    id=self.loads.id,
                    vehicle_id=self.vehicles.id,
                    at=NOW,
                    share=0.5,
                    from_vehicle_id=self.vehicles.id,
                    load_id=self.loads.id,
                ),
            ),
        )
        self.delivery_notes = DeliveryNote(
            **self.base(),
            number="DN-2026-000001",
            note_version=1,
            load_id=self.loads.id,
            client_id=self.clients.id,
            language="en",
            issued_at=NOW,
            content={"depth_mm": 12.7, "text": "ñ €", "nested": {"list": [None, True]}},
            sha256="ab" * 32,
            acknowledgement=Acknowledgement(
                receipt=Receipt.PART,
                name="P. Álvarez",
                reason="too wet",
                accepted_share=0.9,
                device_time=NOW,
                received_at=NOW,
            ),
            link_ended_at=NOW,
        )
