"""An invented firm's books: one full record of every kind, each naming the others rightly."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

from uuid_utils.compat import uuid7

from service.core.acceptance.live_status import AgainstGate
from service.core.callers.access import Amendment
from service.core.evidence.closings import DayClosing
from service.core.evidence.recalls import BroughtSince, CallMade, Recall, RecalledLawn
from service.core.jobs import Job, JobState, LotEstimate, LotFinding, LotSize, SizeWord
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
from service.core.measures.estimates import Factor
from service.core.measures.quantities import Measure
from service.core.notes import Acknowledgement, DeliveryNote, Receipt
from service.core.personal.erasures import AskedBy, Erasure
from service.core.places import (
    DestinationKind,
)
from service.core.plans import DayPlan, WorkingDay
from service.core.treatments import Bioassay, LabelWait, StatementSource, Treatment
from tests.database.places import DAY, NOW, Places, estimate

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
    "erasures",
)


class Books(Places):
    """One firm with one record of every kind, by the name of its repository."""

    def __init__(self, **more):
        super().__init__(**more)
        self._work()
        self._papers()

    def all(self):
        return {name: getattr(self, name) for name in ORDER}

    def keep(self, unit):
        """Keep the firm, its key and every record."""
        unit.firms.add(self.firm)
        unit.api_keys.add(self.key)
        for name, record in self.all().items():
            unit.repository(name).add(record)

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
            leaves_mixed=True,
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
            aboard_after=NOW,
            size_word=SizeWord(
                at=NOW,
                said_by="owner",
                size=LotSize(
                    area_m2=400.1,
                    height_removed_mm=None,
                    measured_mass_kg=90.7,
                    measured_volume_m3=None,
                ),
            ),
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
            ticket_like_id=uuid7(),
            refusal_reason="too wet",
            refused_share=0.1,
            done_at=NOW,
            fee_cents=1999,
            override_reason="the client dug a pit",
            chosen_by_id=self.key.id,
            at_gate_at=NOW,
            against_gate=AgainstGate.SAID_CLOSED,
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
        self.erasures = Erasure(
            **self.base(),
            client_id=self.clients.id,
            erased_at=NOW,
            asked_by=AskedBy.AUTHORITY,
            reason="Order of the court",
            key_id=self.key.id,
            digests={str(self.clients.id): "0" * 64},
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
