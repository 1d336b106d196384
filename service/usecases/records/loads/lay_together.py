"""What lay in one body stays mixed, wherever each of it goes: until the office says it did not.

A crew that names one lot of several tips it, or forks it over, out of a body in which all of them
lay. Of what moved and of what stays each counts as all of it, in bags or not, until somebody says
with a reason that they were kept apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from service.core.callers.access import Caller
from service.core.jobs import Job, LotFinding
from service.core.loads import Load
from service.core.materials import LotStatus, worst_status
from service.core.reports import ReportedPart
from service.destinations.lots import as_smelt
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.ports.unit_of_work import RenewNote, UnitOfWork
from service.usecases.base.staleness import touch_days_from
from service.usecases.base.use_cases import Changing, Stamp
from service.usecases.mass_book.aboard import parts_aboard
from service.usecases.records.amending import write_over
from service.usecases.records.loads.correct_loads import follow_jobs
from service.usecases.records.loads.mixed_later import COUNTS_AS, word_of


@dataclass(frozen=True, kw_only=True, eq=False)
class KeepMixed(Changing):
    """Keeps that the lots of a body were mixed, before some of them are forked over."""

    rulebook: Rulebook
    renew_note: RenewNote

    def __call__(
        self, caller: Caller, vehicle_id: UUID, moved: Collection[UUID], *, at: datetime
    ) -> None:
        """Let all that lay in a vehicle's body at a moment be mixed, if only some of it moves.

        Parameters
        ----------
        moved
            The lots that leave it, by their own ids.
        """
        stamp = self.stamp(self.clock.now(), caller)
        with self.open_unit_of_work() as unit:
            body = parts_aboard(unit, caller.firm_id, vehicle_id, at)
            if not _is_parted(body, moved):
                return
            jobs = unit.jobs.get_many(caller.firm_id, sorted({part.job_id for part in body}))
            # The days first, as all who write jobs do: two orders would lock each other out.
            day = min(
                day_of(find_depot(unit, job.firm_id, job.depot_id), job.at) for job in jobs.values()
            )
            touch_days_from(unit, firm_id=caller.firm_id, day=day)
            keep_mixed(
                unit,
                caller.firm_id,
                body,
                moved,
                at=at,
                stamp=stamp,
                renew_note=self.renew_note,
                rulebook=self.rulebook,
            )
            unit.commit()


def bodies_of(unit: UnitOfWork, load: Load, at: datetime) -> list[set[ReportedPart]]:
    """Return what lay in each body that a load is out of, before it is written.

    What its vehicle had out of a bay, or out of another one's body, lay in its own as well.
    """
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    fresh = {jobs[part.job_id].vehicle_id for part in load.parts if part.hold_entry_id is None}
    brought = {
        ReportedPart(job_id=part.job_id, hold_entry_id=part.hold_entry_id) for part in load.parts
    }
    others = sorted(fresh - {load.vehicle_id})
    return [
        brought | set(parts_aboard(unit, load.firm_id, load.vehicle_id, at)),
        *(set(parts_aboard(unit, load.firm_id, vehicle_id, at)) for vehicle_id in others),
    ]


def mixed_by_tip(
    unit: UnitOfWork,
    load: Load,
    bodies: Sequence[Collection[ReportedPart]],
    *,
    stamp: Stamp,
    renew_note: RenewNote,
    rulebook: Rulebook,
) -> Load:
    """Let what a load leaves in bodies have been mixed with it; return the load as it is then.

    Parameters
    ----------
    load
        As it was just written.
    bodies
        What lay in each that it is out of before that.
    """
    for body in bodies:
        keep_mixed(
            unit,
            load.firm_id,
            body,
            {part.lot_id for part in load.parts},
            at=load.done_at or stamp.now,
            stamp=stamp,
            renew_note=renew_note,
            rulebook=rulebook,
        )
    return unit.loads.get(load.firm_id, load.id) or load


def keep_mixed(
    unit: UnitOfWork,
    firm_id: UUID,
    body: Collection[ReportedPart],
    moved: Collection[UUID],
    *,
    at: datetime,
    stamp: Stamp,
    renew_note: RenewNote,
    rulebook: Rulebook,
) -> None:
    """Let the lots of a body count as each other from a moment on, if only some of them move.

    Parameters
    ----------
    body
        What lay in it, with what moves.
    """
    if not _is_parted(body, moved):
        return
    jobs = unit.jobs.get_many(firm_id, sorted({part.job_id for part in body}))
    held = sorted({part.hold_entry_id for part in body if part.hold_entry_id is not None})
    entries = unit.hold_entries.get_many(firm_id, held)
    statuses: dict[UUID, set[LotStatus]] = defaultdict(set)
    for part in body:
        statuses[part.job_id] |= {one.status for one in as_smelt(jobs[part.job_id], at).findings}
        if part.hold_entry_id is not None:
            statuses[part.job_id] |= {entries[part.hold_entry_id].status} - {LotStatus.CLEAN}
    pairs = []
    for job in jobs.values():
        words = tuple(_words(job, jobs, statuses, at))
        if words:
            new = replace(
                job,
                status=worst_status([job.status, *(word.status for word in words)]),
                findings=(*job.findings, *words),
            ).renewed(stamp.now)
            pairs.append((job, new))
    for old, new in pairs:
        why = replace(stamp, reason=f"Lay in one body with {new.findings[-1].facts['lay_with']}.")
        write_over(unit, "jobs", old, new, why)
    follow_jobs(unit, pairs, stamp, renew_note, rulebook=rulebook)


def _is_parted(body: Collection[ReportedPart], moved: Collection[UUID]) -> bool:
    lots = {part.lot_id for part in body}
    return bool(lots & set(moved)) and not lots <= set(moved)


def _words(
    job: Job, jobs: dict[UUID, Job], statuses: dict[UUID, set[LotStatus]], at: datetime
) -> list[LotFinding]:
    """Return what a job's clippings count as besides, for each status that lay with them."""
    found: dict[LotStatus, list[str]] = defaultdict(list)
    for other in jobs.values():
        for status in statuses[other.id] if other.id != job.id else ():
            counts_as = COUNTS_AS.get(status, status)
            if counts_as not in statuses[job.id]:
                found[counts_as].append(other.lot_code)
    return [word_of(status, codes, at) for status, codes in found.items()]
