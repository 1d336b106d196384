"""An invented firm kept through the use cases, for tests of whole days."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from service.core.callers.access import Caller, Firm, Role
from service.core.jobs import JobState
from service.core.materials import GrassKind, TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.places import Drainage, GroundState, Point
from service.gateways.distances import GeodesicDistances
from service.planning.model.stop_rule import StopRule
from service.usecases.base.staleness import mark_days_stale
from service.usecases.notes.issue_note import IssueNote
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.store_plan import PlanDay
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_jobs import RecordJobs
from service.usecases.records.record_kinds import Library, Papers, keep_library, keep_papers
from service.usecases.records.refresh_lots import RefreshLots
from service.usecases.records.update_hold import UpdateHold
from tests.builders import RULES, a_site
from tests.fakes import CountingIdentifiers, MemoryStore, SetClock

DAY = date(2026, 5, 20)
SIX = datetime(2026, 5, 20, 5, 0, tzinfo=UTC)  # six o'clock in London


@dataclass(frozen=True, slots=True, kw_only=True)
class TestFirm:
    """A firm with a depot, a bay and the use cases over its records."""

    __test__ = False

    open_unit: object
    clock: SetClock
    caller: Caller
    library: Library
    jobs: RecordJobs
    plan: PlanDay
    routing: ReadRouting
    loads: UpdateLoad
    hold: UpdateHold
    notes: IssueNote
    papers: Papers
    depot_id: UUID
    bay_id: UUID

    def plan_day(self):
        """Plan the day and return its routing."""
        return self.plan(self.caller, self.depot_id, DAY).routing

    def all_loads(self):
        """Return the loads that count."""
        with self.open_unit() as unit:
            return [
                load
                for load in unit.loads.all(self.caller.firm_id)
                if load.state.value != "superseded"
            ]

    def vehicle(self, registration="CL05 LAW", *, payload_kg=900.0, body_volume_m3=4.5):
        """Keep a vehicle."""
        return self.library.vehicles.create(
            self.caller,
            {
                "depot_id": self.depot_id,
                "registration": registration,
                "payload_kg": payload_kg,
                "body_volume_m3": body_volume_m3,
            },
        )

    def crew(self, vehicle):
        """Keep a crew."""
        return self.library.crews.create(
            self.caller,
            {"depot_id": self.depot_id, "name": "Crew", "vehicle_id": vehicle.id},
        )

    def lawn(self, number, *, area_m2=500.0, point=None):
        """Keep a property with a lawn, a little further out each."""
        client = self.library.clients.create(self.caller, {"name": f"Client {number}"})
        home = self.library.properties.create(
            self.caller,
            {
                "client_id": client.id,
                "name": f"House {number}",
                "address": f"{number} Private Road",
                "locality": "Elm End",
                "point": point
                or Point(latitude=51.5 + 0.004 * number, longitude=-2.5 - 0.003 * number),
            },
        )
        return self.library.lawns.create(
            self.caller,
            {
                "property_id": home.id,
                "name": "Front lawn",
                "area": Measure(value=area_m2, unit="m2"),
                "grass_kind": GrassKind.COOL_SEASON,
            },
        )

    def crews_cost(self, cents):
        """Say what a minute of a crew costs at the depot; 0: nothing before overtime."""
        depot = self.library.depots.read(self.caller, self.depot_id)
        self.library.depots.amend(
            self.caller,
            self.depot_id,
            {"crew_minute_cents": cents},
            expected_version=depot.version,
        )

    def bed(self, lawn, *, area_m2=40.0, **changes):
        """Keep a willing bed beside a lawn."""
        values = {
            "property_id": lawn.property_id,
            "name": "Rose border",
            "area": Measure(value=area_m2, unit="m2"),
            "drainage": Drainage.FREE,
            "ground_state": GroundState.FIRM,
            "water_distance_m": 400.0,
            "well_distance_m": 400.0,
            "consent": Consent(state=ConsentState.GIVEN),
            "legal_basis": LegalBasis(
                kind=LegalBasisKind.REGISTERED_EXEMPTION,
                reference="EX 1",
                expires_on=date(2027, 5, 1),
            ),
        }
        return self.library.beds.create(self.caller, values | changes)

    def site(self, **changes):
        """Keep a compost site."""
        site = a_site(**changes)
        names = ["name", "operator", "address", "point", "time_zone", "daily_capacity_kg"]
        names += ["fee", "jurisdiction", "hours", "closed_on", "accepted_statuses", "live_status"]
        return self.library.compost_sites.create(
            self.caller, {name: getattr(site, name) for name in names}
        )

    def mown(self, lawn, crew, **changes):
        """Return the fields of a job that was mown at six."""
        told = {"state": JobState.MOWN, "cut_at": SIX, "planned_at": None}
        return self.job(lawn, crew, **(told | changes))

    def job(self, lawn, crew, *, hour=8.0, **changes):
        """Return the fields of a planned job."""
        values = {
            "lawn_id": lawn.id,
            "crew_id": crew.id,
            "vehicle_id": crew.vehicle_id,
            "state": JobState.PLANNED,
            "planned_at": SIX + timedelta(hours=hour - 6.0),
            "area_mowed": lawn.area,
            "height_removed": Measure(value=25.0, unit="mm"),
            "wetness": Wetness.DRY,
            "treatment_history": TreatmentHistory.NONE_RECORDED,
        }
        return values | changes


def make_firm(open_unit=None, *, stop=None) -> TestFirm:
    """Return a firm with a depot and a bay, in memory or in what the opener opens."""
    open_unit = open_unit or MemoryStore()
    clock, identifiers = SetClock(SIX), CountingIdentifiers()
    firm = Firm(
        id=identifiers.next_id(),
        name="Elm End Gardens",
        address="1 Yard Lane",
        phone="+44 20 7946 0011",
        currency="GBP",
        created_at=SIX,
    )
    with open_unit() as unit:
        unit.firms.add(firm)
        unit.commit()
    caller = Caller(firm_id=firm.id, key_id=identifiers.next_id(), role=Role.OWNER)
    kept = {"open_unit_of_work": open_unit, "clock": clock, "identifiers": identifiers}
    keeping = {**kept, "open_reading": open_unit}
    library = keep_library(
        **keeping,
        after_change=lambda unit, record: mark_days_stale(unit, record, clock.now()),
        after_treatment=RefreshLots(
            clock=clock, identifiers=identifiers, rulebook=RULES, renew_note=no_note
        ),
    )
    depot = library.depots.create(
        caller,
        {
            "name": "Yard",
            "address": "1 Yard Lane",
            "point": Point(latitude=51.5, longitude=-2.5),
            "time_zone": "Europe/London",
            "jurisdiction": "GB-ENG",
        },
    )
    bay = library.hold_bays.create(caller, {"depot_id": depot.id, "name": "Bay", "volume_m3": 12.0})
    plan = PlanDay(
        **keeping,
        renew_note=no_note,
        rulebook=RULES,
        distances=GeodesicDistances(detour_factor=1.3, speed_km_per_h=30.0, sources=()),
        stop=stop or StopRule(first=True),
    )
    return TestFirm(
        open_unit=open_unit,
        clock=clock,
        caller=caller,
        library=library,
        jobs=RecordJobs(
            **keeping, rulebook=RULES, clock_tolerance=timedelta(minutes=5), renew_note=no_note
        ),
        plan=plan,
        routing=ReadRouting(open_reading=open_unit, clock=clock, plan_day=plan),
        loads=UpdateLoad(**kept, rulebook=RULES, renew_note=no_note),
        hold=UpdateHold(**kept, rulebook=RULES),
        notes=IssueNote(**kept, rulebook=RULES, renew_note=no_note),
        papers=keep_papers(**keeping),
        depot_id=depot.id,
        bay_id=bay.id,
    )


def no_note(*_):
    """Leave notes as they are: who looks at them issues them."""


def the_load(firm, kind):
    """Return the first load that counts and goes to a kind of destination."""
    return next(load for load in firm.all_loads() if load.destination_kind is kind)


def outcome(routing, job):
    """Return what becomes of a job's lot."""
    return next(lot["outcome"] for lot in routing["lots"] if lot["job_id"] == str(job.id))
