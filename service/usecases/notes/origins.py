"""Where a load comes from, lot by lot: codes, localities, and what the records say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from service.core.callers.access import Firm
from service.core.crews import Crew, Vehicle
from service.core.jobs import Job
from service.core.loads import Load
from service.core.materials import LotStatus
from service.core.places import Bed, Client, Depot, Property
from service.core.treatments import Treatment as RecordedTreatment
from service.destinations.lots import find_lot
from service.destinations.treatments.waits import stated_label
from service.destinations.verdicts import Wait
from service.documents.facts.note import Finding, Origin, Treatment
from service.documents.facts.values import TreatmentOnRecord
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.lots.lot_facts import LotFacts
from service.usecases.day.misplaced.over_limits import OverLimit


@dataclass(frozen=True, slots=True, kw_only=True)
class Parties:
    """Everybody and everything a note names."""

    firm: Firm
    client: Client
    place: Property
    bed: Bed
    depot: Depot
    vehicle: Vehicle
    crew: Crew | None
    load: Load
    jobs: Sequence[Job]
    lot_facts: LotFacts
    room_kg: float
    over: OverLimit | None = None
    called_back: bool = False
    refusals: tuple[str, ...] = ()

    @property
    def use(self) -> str:
        """Return the use whose waits count on the bed."""
        return "edible_bed" if self.bed.edible or self.bed.sensitive_plants else "bed"


def origin_of(
    job: Job, parties: Parties, *, zone: ZoneInfo, rulebook: Rulebook, read_on: date
) -> Origin:
    """Return what a note says of one lot: its code and locality, never its address."""
    load = parties.load
    arrives = load.done_at or load.arrive_at
    cut_on = job.at.astimezone(zone).date()
    treatments = [
        treatment
        for treatment in parties.lot_facts.treatments_for(job)
        if treatment.applied_on <= cut_on
    ]
    lot = parties.lot_facts.lot_of(job, rulebook=rulebook)
    told = {LotStatus.WEEDY: Finding.WEEDS_IN_SEED, LotStatus.DISEASED: Finding.DISEASE}
    origin = Origin(
        lot_code=job.lot_code,
        locality=parties.lot_facts.properties[job.property_id].locality,
        cut_at=job.at.astimezone(zone),
        age_hours=max(0.0, (arrives - job.at) / timedelta(hours=1)),
        records_read_on=read_on,
        findings=frozenset(told[one] for one in lot.statuses & told.keys()),
        treatment=Treatment.NOT_KNOWN,
    )
    if LotStatus.UNKNOWN in lot.statuses:
        return origin
    if not treatments:
        return replace(origin, treatment=Treatment.NONE_RECORDED)
    use = parties.use
    wait = lot.waits[use]
    return replace(
        origin,
        treatment=Treatment.RECORDED_AND_CLEAR if wait.over else Treatment.RECORDED_AND_WAITING,
        active_ingredients=_ingredients(treatments),
        treated_on=max(treatment.applied_on for treatment in treatments),
        wait_ends_on=_wait_ended_on(treatments, parties, job, rulebook=rulebook)
        if wait.over
        else _wait_ends_on(wait, cut_on),
        rule=_rule_words(wait, treatments, rulebook, use=use),
        treatments=_each_for_itself(treatments, parties, job, rulebook=rulebook, cut_on=cut_on),
    )


def _each_for_itself(
    treatments: Sequence[RecordedTreatment],
    parties: Parties,
    job: Job,
    *,
    rulebook: Rulebook,
    cut_on: date,
) -> tuple[TreatmentOnRecord, ...]:
    """Return each treatment with its own day and wait, the newest first, each once."""
    found = []
    for treatment in sorted(treatments, key=lambda one: (one.applied_on, one.id), reverse=True):
        wait = find_lot(
            job,
            treatments=[treatment],
            mowings=parties.lot_facts.mowings_for(job),
            here=RulesHere(rulebook, cut_on, parties.depot.jurisdiction),
        ).waits[parties.use]
        found.append(
            TreatmentOnRecord(
                active_ingredients=_ingredients([treatment]),
                treated_on=treatment.applied_on,
                is_over=wait.over,
                wait_ends_on=_wait_ended_on([treatment], parties, job, rulebook=rulebook)
                if wait.over
                else _wait_ends_on(wait, cut_on),
                rule=_rule_words(wait, [treatment], rulebook, use=parties.use),
            )
        )
    return tuple(dict.fromkeys(found))


def _rule_words(
    wait: Wait, treatments: Sequence[RecordedTreatment], rulebook: Rulebook, *, use: str
) -> str:
    """Return the label, or the title of the source, that the wait follows."""
    labelled = [treatment for treatment in treatments if stated_label(treatment) is not None]
    if labelled:
        return labelled[-1].product
    keys = wait.sources or tuple(
        source
        for treatment in treatments
        for written in treatment.active_ingredients
        if (substance := rulebook.treatments.substance_of(written)) is not None
        for row in rulebook.treatments.waits_on(substance.name, treatment.applied_on)
        if row.destination == use
        for source in row.sources
    )
    titles = [rulebook.sources[key].title for key in keys if key != "common-practice"]
    return titles[0] if titles else rulebook.sources["common-practice"].title


def _wait_ends_on(wait: Wait, cut_on: date) -> date | None:
    """Return the day a wait that is counted in days alone ends; None if it has no such day."""
    days_left, mowings_left = wait.facts.get("days_left"), wait.facts.get("mowings_left")
    if isinstance(days_left, int) and days_left > 0 and not mowings_left:
        return cut_on + timedelta(days=days_left)
    return None


def _ingredients(treatments: Sequence[RecordedTreatment]) -> tuple[str, ...]:
    names = {
        name
        for treatment in treatments
        for name in (treatment.active_ingredients or (treatment.product,))
    }
    return tuple(sorted(names))


def _wait_ended_on(
    treatments: Sequence[RecordedTreatment],
    parties: Parties,
    job: Job,
    *,
    rulebook: Rulebook,
) -> date:
    """Return the day the last wait for beds ended: by days, or by the mowing that ended it."""
    mowings = parties.lot_facts.mowings_for(job)
    ends = []
    for treatment in treatments:
        ends.append(treatment.applied_on)
        after = [
            at.date()
            for at in mowings.get(treatment.lawn_id, ())
            if at.date() > treatment.applied_on
        ]
        for days, count in _bed_waits(treatment, parties, rulebook=rulebook):
            ends.append(treatment.applied_on + timedelta(days=days))
            if 0 < count <= len(after):
                ends.append(after[count - 1])
    return max(ends)


def _bed_waits(
    treatment: RecordedTreatment, parties: Parties, *, rulebook: Rulebook
) -> list[tuple[int, int]]:
    """Return the (days, mowings) that a treatment's label, or else the table, asks for beds."""
    label = stated_label(treatment)
    found = []
    if label is not None:
        found.append((label.days or 0, max(label.mowings or 0, label.leave_on_lawn_mowings or 0)))
        if parties.use == "bed":
            return found
    for written in treatment.active_ingredients:
        substance = rulebook.treatments.substance_of(written)
        if substance is None:
            continue
        rows = rulebook.treatments.waits_on(
            substance.name,
            parties.load.working_day,
            jurisdiction=parties.depot.jurisdiction,
        )
        found += [(row.days, row.mowings) for row in rows if row.destination == parties.use]
    return found
