"""What an open recall freezes: its beds take nothing more, its lots go nowhere but into a bay.

Its lots are those it traced, and whatever is cut on its lawns while it is open.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import fields, replace
from typing import Final
from uuid import UUID

from service.core.evidence.recalls import OpenRecall, Recall, RecalledLawn
from service.core.jobs import Job
from service.core.loads import Load
from service.core.places import Depot
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.lawn import LawnAdvice
from service.destinations.verdicts import Lot
from service.usecases.base.calendar import day_of
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.destinations import Asked
from service.usecases.mass_book.lay_with import lay_with

CODE = "recalled"
REMEDY: Final = "End the recall before anything of it is moved."


def with_freezes(asked: Asked, recalls: Sequence[OpenRecall]) -> Asked:
    """Return the answers in which what is recalled is refused, until the recall is ended."""
    if not recalls:
        return asked
    return replace(
        asked,
        verdicts={
            lot_id: tuple(frozen_by(said, asked.lots[lot_id], recalls) or said for said in row)
            for lot_id, row in asked.verdicts.items()
        },
    )


def read_recalls(
    unit: UnitOfWork, depot: Depot, jobs: Sequence[Job], loads: Sequence[Load]
) -> tuple[OpenRecall, ...]:
    """Return the open recalls; what was cut on their lawns is among their lots, also since.

    So is what lay in one body with any of them, until the office says that it was kept apart.

    Parameters
    ----------
    jobs, loads
        Of a day: whatever lots can be frozen on it, and what it tipped of others.
    """
    return tuple(_with_mixed(unit, recall) for recall in _with_cut_since(unit, depot, jobs, loads))


def _with_mixed(unit: UnitOfWork, recall: Recall) -> OpenRecall:
    """Return a recall with what lay in one body with any of its lots among them."""
    lots = unit.jobs.get_many(recall.firm_id, sorted(recall.job_ids))
    mixed, since = lay_with(unit, recall.firm_id, list(lots.values()))
    kept = {one.name: getattr(recall, one.name) for one in fields(Recall)}
    return OpenRecall(**kept | {"job_ids": (*recall.job_ids, *mixed), "mixed_since": since})


def _with_cut_since(
    unit: UnitOfWork, depot: Depot, jobs: Sequence[Job], loads: Sequence[Load]
) -> tuple[Recall, ...]:
    found = unit.recalls.open(depot.firm_id)
    lawn_ids = sorted({one.lawn_id for recall in found for one in recall.lawns})
    if not lawn_ids:
        return tuple(found)
    homes = {
        lawn.id: lawn.property_id for lawn in unit.lawns.get_many(depot.firm_id, lawn_ids).values()
    }
    known = {job.id: job for job in jobs}
    more = {part.job_id for load in loads for part in load.parts} - known.keys()
    known |= unit.jobs.get_many(depot.firm_id, sorted(more))

    def is_cut_there(job: Job, one: RecalledLawn) -> bool:
        # A job that names no lawn may have cut any lawn of its property.
        there = homes.get(one.lawn_id) if job.lawn_id is None else one.lawn_id
        return there == (job.lawn_id or job.property_id) and day_of(depot, job.at) >= one.since

    return tuple(
        replace(
            recall,
            job_ids=(
                *recall.job_ids,
                *(
                    j.id
                    for j in known.values()
                    if any(is_cut_there(j, one) for one in recall.lawns)
                ),
            ),
        )
        for recall in found
    )


def frozen_by(said: Verdict, lot: Lot, recalls: Sequence[OpenRecall]) -> Verdict | None:
    """Return the refusal of a place or a lot that is recalled; None where it is not."""
    if is_hold(said.destination_kind):
        return None
    recall = recall_of(recalls, place_id=said.destination_id, job_ids=[lot.job_id])
    return None if recall is None else _frozen(said, recall)


def kept_by(advice: LawnAdvice, job: Job, recalls: Sequence[OpenRecall]) -> LawnAdvice:
    """Return what to do with what is to be cut on a recalled lawn: it stays; else the advice.

    What law or a label keeps there already is told by their own word, which offers no other way.
    Bagged, it would be mixed with what is clean: a plan knows only what a body's lots are.
    """
    recall = recall_of(recalls, place_id=None, job_ids=[job.id])
    if recall is None or advice.must:
        return advice
    why = recall.reason.rstrip(". ")
    return LawnAdvice(
        must=True,
        better=True,
        code="recalled_lawn",
        sentence=(
            f"This lawn is recalled: {why}. Leave the clippings where they fall, or mow on another "
            "day. If they must come away, keep them apart from all else and ask the office: they "
            "wait in a bay."
        ),
        rule_class=RuleClass.SITE,
        facts=_facts(recall),
    )


def recall_of(
    recalls: Sequence[OpenRecall], *, place_id: UUID | None, job_ids: Collection[UUID]
) -> OpenRecall | None:
    """Return the first recall that freezes a place, or what is left of any of the lots, if any."""
    return next(
        (
            recall
            for recall in recalls
            if place_id in recall.bed_ids or set(job_ids) & set(recall.job_ids)
        ),
        None,
    )


def broken_by(load: Load, recalls: Sequence[OpenRecall]) -> OpenRecall | None:
    """Return the recall that a load was tipped against; None if there is none.

    What its trace knows is on its list of calls; what a bed got before it was begun is no breach.
    """
    if is_hold(load.destination_kind):
        return None
    for recall in recalls:
        is_later = load.done_at is None or load.done_at >= recall.created_at
        is_against = is_later and load.destination_id in recall.bed_ids
        traced = set(recall.load_ids) - {one.load_id for one in recall.brought_since}
        if load.id not in traced and (is_against or recall.codes_in(load)):
            return recall
    return None


def is_settled(load: Load, recalls: Sequence[OpenRecall], settled: Collection[UUID]) -> bool:
    """Return whether a load was recalled, and the recall ended: there is nobody left to call."""
    return load.id in settled and broken_by(load, recalls) is None


def words_of(recall: Recall) -> str:
    """Return that something is recalled, and why, in words."""
    why = recall.reason.rstrip(". ")
    return f"It is recalled and stays as it is until the recall is ended: {why}."


def _frozen(said: Verdict, recall: Recall) -> Verdict:
    return replace(
        said,
        accepted_kg=0.0,
        code=CODE,
        sentence=words_of(recall),
        # Nobody sets it aside for one load: the recall is ended, for all of it.
        rule_class=RuleClass.SITE,
        facts=_facts(recall),
        ground=Ground.LOT,
    )


def _facts(recall: Recall) -> dict[str, object]:
    return {"recall_id": str(recall.id), "reason": recall.reason}
