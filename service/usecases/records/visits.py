"""One job a lawn and visit: which planned job a cut completes, and which cut was said before.

Two crews may mow one lawn, and one crew may mow it in several rounds. The same grass is not cut
twice on a day: a cut is like another if the same crew, or vehicle, was still at that one, or if
both together are more than the lawn has. Of a job that names no lawn nobody can tell.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, fields, replace
from datetime import timedelta
from typing import Any, Final
from uuid import UUID

from service.core.errors import RecordExists
from service.core.jobs import Job, JobState
from service.usecases.base.calendar import day_of
from service.usecases.base.lots.lot_facts import LotFacts
from service.usecases.base.ports.unit_of_work import UnitOfWork

# A lawn on record, and what a crew says of its round, are off by this; common practice, no source.
AREAS_TOGETHER_SLACK: Final = 1.25
# A depot's day, in whatever zone, lies within as much of a moment of it.
AROUND_A_DAY: Final = timedelta(days=1)
HEIGHTS: Final = ("height_before", "height_after", "height_removed")
# Said by every report, also where it is as usual.
ALWAYS_SAID: Final = frozenset({"state", "cut_at", "clippings"})
WORKED_OUT: Final = frozenset({"estimate", "status", "findings", "reported_as_id", "aboard_after"})
_OF_THE_RECORD: Final = frozenset({"id", "version", "created_at", "updated_at", "lot_code"})
_DEFAULTS: Final[Mapping[str, Any]] = {
    field.name: field.default for field in fields(Job) if field.default is not MISSING
}


class Visits:
    """What is on record of some lawns on some days, while new cuts are added to it."""

    def __init__(self, known: Iterable[Job], facts: LotFacts) -> None:
        """Take the jobs on record, and the facts behind those and the new ones."""
        self._facts = facts
        self._by_id: dict[UUID, Job] = {}
        self._reported: dict[UUID, UUID] = {}
        for job in known:
            self.put(job)

    def put(self, job: Job) -> None:
        """Let a job be as it is by now."""
        self._by_id[job.id] = job
        if job.reported_as_id is not None:
            self._reported[job.reported_as_id] = job.id

    def now(self, job: Job) -> Job:
        """Return a job as it is by now."""
        return self._by_id[job.id]

    def kept(self, told: Job, job: Job) -> Job | None:
        """Return what an earlier try kept under the id of a job; None if there was none.

        Parameters
        ----------
        told, job
            The job as it is said, and with what is worked out of it.

        Raises
        ------
        RecordExists
            If it says something else.
        """
        found = self._by_id.get(job.id) or self._by_id.get(self._reported.get(job.id, job.id))
        if found is None:
            return None
        # What was planned may have been mown since: that it was planned is as true as before.
        is_plan = found.id == job.id and job.state is JobState.PLANNED
        if is_plan and found.reported_as_id is not None:
            return found
        again = _decided_as(found, job) if found.id == job.id else completed(found, told)
        if says(found, again):
            return found
        raise RecordExists(record="job", id=job.id)

    def planned_for(self, job: Job) -> Job | None:
        """Return the planned job that a cut completes: its crew's own, or else another's.

        Another's not once this crew has mown there: the rest of it is still to come then.
        """
        if job.state is not JobState.MOWN:
            return None
        there = self._there(job)
        planned = [one for one in there if one.state is JobState.PLANNED]
        own = [one for one in planned if one.crew_id == job.crew_id]
        if not own and any(o.state is JobState.MOWN and _same_hands(o, job) for o in there):
            return None
        return min(own or planned, key=lambda one: (abs(one.at - job.at), one.id), default=None)

    def like(self, job: Job) -> Job | None:
        """Return the cut on record that a cut is so much like that it may be the same."""
        if job.state is not JobState.MOWN or job.lawn_id is None:
            return None
        cuts = [one for one in self._there(job) if one.state is JobState.MOWN]
        if not cuts:
            return None
        nearest = min(cuts, key=lambda one: (abs(one.at - job.at), one.id))
        for one in sorted(cuts, key=lambda one: (abs(one.at - job.at), one.id)):
            while_there = timedelta(minutes=max(one.minutes_on_site, job.minutes_on_site))
            if _same_hands(one, job) and abs(one.at - job.at) < while_there:
                return one
        areas = [one.area_mowed.si_value for one in (*cuts, job)]
        lawn = self._facts.lawns.get(job.lawn_id)
        largest = max(*areas, 0.0 if lawn is None else lawn.area.si_value)
        return nearest if sum(areas) > largest * AREAS_TOGETHER_SLACK else None

    def _there(self, job: Job) -> list[Job]:
        """Return the other jobs of the lawn on the day, whichever yard they were planned at."""
        if job.lawn_id is None:
            return []
        depot = self._facts.depots[job.depot_id]
        day = day_of(depot, job.at)
        return [
            one
            for one in self._by_id.values()
            if one.id != job.id and one.lawn_id == job.lawn_id and day_of(depot, one.at) == day
        ]


class Intake:
    """New jobs of one batch: each is the end of a planned one, or one of its own."""

    def __init__(self, visits: Visits, worked_out: Callable[[Job], Job]) -> None:
        """Take what is on record, and what gives a job its estimate or refuses it."""
        self._visits = visits
        self._worked_out = worked_out
        self._fresh: list[Job] = []
        self._planned: dict[UUID, Job] = {}

    @property
    def fresh(self) -> list[Job]:
        """The jobs to be added, as they are by now: a row of the same batch may complete one."""
        return [self._visits.now(job) for job in self._fresh]

    @property
    def completed(self) -> list[tuple[Job, Job]]:
        """The jobs that were planned on record, and what completes each."""
        return [(job, self._visits.now(job)) for job in self._planned.values()]

    @property
    def changed(self) -> list[Job]:
        """Every job that changes its day, as it was and as it is."""
        counted = [job for job in self.fresh if job.state is not JobState.POSSIBLE_DUPLICATE]
        return [*counted, *(job for pair in self.completed for job in pair)]

    def take(self, told: Job) -> Job:
        """Return what a job becomes, or what an earlier try of it kept.

        Raises
        ------
        RecordExists, RecordNotUsable
        """
        job = self._worked_out(told)
        kept = self._visits.kept(told, job)
        if kept is not None:
            return kept
        before = self._visits.planned_for(job)
        if before is not None:
            job = self._completed(before, told)
        else:
            like = self._visits.like(job)
            if like is not None:
                job = replace(job, state=JobState.POSSIBLE_DUPLICATE, duplicate_of_id=like.id)
            self._fresh.append(job)
        self._visits.put(job)
        return job

    def _completed(self, before: Job, told: Job) -> Job:
        job = self._worked_out(completed(before, told))
        if all(before.id != fresh.id for fresh in self._fresh):
            self._planned[before.id] = before
            job = replace(job, version=before.version + 1, updated_at=told.updated_at)
        return job


def read_visits(unit: UnitOfWork, firm_id: UUID, jobs: Sequence[Job], facts: LotFacts) -> Visits:
    """Return what is on record where and when some new jobs are, in one statement."""
    if not jobs:
        return Visits((), facts)
    known = unit.jobs.visits(
        firm_id,
        sorted({job.id for job in jobs}),
        lawn_ids=sorted({job.lawn_id for job in jobs if job.lawn_id is not None}),
        start=min(job.at for job in jobs) - AROUND_A_DAY,
        end=max(job.at for job in jobs) + AROUND_A_DAY,
    )
    return Visits(known, facts)


def undecided_jobs(unit: UnitOfWork, firm_id: UUID, depot_id: UUID) -> list[Job]:
    """Return a depot's cuts that may be on record twice, however long ago they were, by id."""
    # The depot is looked at here: said to the database it lets it read the jobs of a season by
    # depot, where the few that wait are found by their state.
    found: list[Job] = unit.jobs.all(firm_id, state=JobState.POSSIBLE_DUPLICATE)
    return [job for job in found if job.depot_id == depot_id]


def completed(planned: Job, told: Job) -> Job:
    """Return a planned job as a report of its cut completes it, but for what is worked out.

    What the report leaves out, or says nobody knows, stays as it was planned.
    """
    said = {
        field.name
        for field in fields(Job)
        if field.name in ALWAYS_SAID or getattr(told, field.name) != _DEFAULTS.get(field.name)
    } - (_OF_THE_RECORD | WORKED_OUT)
    if said & set(HEIGHTS):
        said |= set(HEIGHTS)
    changes = {name: getattr(told, name) for name in said}
    return replace(planned, **changes, reported_as_id=told.id)


def says(kept: Job, again: Job) -> bool:
    """Return whether what was kept says what is said again; what is worked out may be otherwise."""
    names = {field.name for field in fields(Job)} - _OF_THE_RECORD - WORKED_OUT
    return all(getattr(kept, name) == getattr(again, name) for name in names)


def lot_ids(unit: UnitOfWork, firm_id: UUID, ids: Sequence[UUID]) -> dict[UUID, UUID]:
    """Return by each id that a device may know a lot by the job that the lot is on record as."""
    found = unit.jobs.get_many(firm_id, ids)
    others = tuple(sorted(set(ids) - found.keys()))
    reported = unit.jobs.all(firm_id, reported_as_id=others) if others else []
    told = {job.reported_as_id: job.id for job in reported if job.reported_as_id is not None}
    for job in found.values():
        is_same = job.duplicate_of_id is not None and job.state is not JobState.MOWN
        told[job.id] = job.duplicate_of_id if is_same and job.duplicate_of_id else job.id
    return told


def _decided_as(kept: Job, job: Job) -> Job:
    """Return a job said again with what was found, or decided, of it since."""
    if kept.duplicate_of_id is None:
        return job
    return replace(job, state=kept.state, duplicate_of_id=kept.duplicate_of_id)


def _same_hands(one: Job, two: Job) -> bool:
    return one.crew_id == two.crew_id or one.vehicle_id == two.vehicle_id
