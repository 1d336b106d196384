"""Record mowing jobs: one, or a crew's whole afternoon at once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import (
    FieldFault,
    RecordNotUsable,
    Refusal,
    VersionOvertaken,
)
from service.core.jobs import Job
from service.core.records import NOBODY, Identifiers
from service.rules.lookup import Rulebook
from service.usecases.base.batch_cache import Remembered, erased_faults
from service.usecases.base.lots.lot_estimates import as_they_stand, lot_code_of, work_out
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.lots.weigh_tickets import (
    Tickets,
    read_tickets,
)
from service.usecases.base.lots.weigh_tickets import (
    keep_tickets as keep_tickets_in,
)
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, Page, RenewNote, UnitOfWork
from service.usecases.base.staleness import touch_days_of
from service.usecases.base.use_cases import Stamp
from service.usecases.mass_book.aboard import TAKEN_OVER_AT
from service.usecases.mass_book.keeping import book_fresh
from service.usecases.mass_book.stays import follow_stays
from service.usecases.records.amending import amendment_of, refuse_cleaner
from service.usecases.records.job_names import (
    AS_PLANNED,
    FILLED_IN,
    JOBS_OWN,
    REFERENCES,
    amending_faults,
    fill_in,
    find_job,
    left_as_was,
    missing_names,
    no_longer_used,
    of_its_yard,
    other_depot,
    others_faults,
    record_faults,
)
from service.usecases.records.keep_records import KeepRecords, Shelf
from service.usecases.records.loads.correct_loads import follow_jobs, follow_late
from service.usecases.records.moved_bodies import refuse_moved
from service.usecases.records.told_statuses import page_as_told
from service.usecases.records.visits import Intake, read_visits

JOB_SHELF: Final = Shelf(
    record_type=Job,
    repository="jobs",
    references=REFERENCES,
    own=JOBS_OWN,
    beside_others=lambda unit, firm_id, told, latest: record_faults(
        Remembered(unit, firm_id), told, latest=latest
    ),
)

# Why a planned job is a mown one now, in its history.
COMPLETED: Final = "Reported as mown."


@dataclass(frozen=True, slots=True, kw_only=True)
class RowAnswer:
    """What became of one row of a batch: a kept job, or the refusal that says why not."""

    index: int
    job: Job | None = None
    refusal: Refusal | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class RecordJobs(KeepRecords[Job]):
    """Keep, read and amend jobs; estimate and status are worked out each time.

    A cut further ahead than the tolerance is refused.
    """

    shelf: Shelf[Job] = JOB_SHELF
    rulebook: Rulebook
    clock_tolerance: timedelta
    renew_note: RenewNote
    keep_tickets: Callable[[OpenUnitOfWork, UUID, Tickets], None] = keep_tickets_in

    def create(
        self, caller: Caller, values: Mapping[str, Any], *, identifiers: Identifiers | None = None
    ) -> Job:
        """Keep one job and return it with its estimate and status.

        Raises
        ------
        RecordNotUsable, RecordExists
        """
        answer = self.create_many(caller, [values], identifiers=identifiers)[0]
        if answer.job is None:
            raise answer.refusal or RecordNotUsable([])
        return answer.job

    def create_many(
        self,
        caller: Caller,
        rows: Sequence[Mapping[str, Any] | RecordNotUsable],
        *,
        identifiers: Identifiers | None = None,
        together: bool = False,
    ) -> list[RowAnswer]:
        """Keep the good rows, or ``together`` all or none, in one transaction; answer each row.

        Parameters
        ----------
        rows
            Each the fields of a job (with its own ``id``, or not), or what was wrong
            with it before it came here.
        """
        ids = identifiers or self.identifiers
        own_ids = [ids.next_id() for _ in rows]
        with self.open_unit_of_work() as unit:
            remembered = Remembered(unit, caller.firm_id)
            bare = self._bare_jobs(remembered, caller, rows, own_ids)
            jobs = [found for found in bare if isinstance(found, Job)]
            facts = read_lot_facts(unit, caller.firm_id, jobs, known=remembered)
            visits = read_visits(unit, caller.firm_id, jobs, facts)
            tickets = read_tickets(unit, caller.firm_id, jobs)
            answers: list[RowAnswer] = []
            taken = Intake(
                visits, lambda job: work_out(job, facts, tickets.of(job), rulebook=self.rulebook)
            )
            for index, found in enumerate(bare):
                try:
                    if isinstance(found, Refusal):
                        raise found
                    answers.append(RowAnswer(index=index, job=taken.take(found)))
                except Refusal as refusal:
                    answers.append(RowAnswer(index=index, refusal=refusal))
            if together and any(answer.refusal for answer in answers):
                return answers
            stamp = self.stamp(self.clock.now(), caller)
            depots = remembered.many("depots", [job.depot_id for job in taken.changed])
            touch_days_of(unit, taken.changed, depots, stamp)
            unit.jobs.add_many(taken.fresh)
            self._write(unit, taken.completed, replace(stamp, reason=COMPLETED))
            # Ids of entries are nobody's business: a retry finds its jobs kept, and adds none.
            book_fresh(unit, taken.fresh, facts.depots, stamp)
            follow_late(unit, taken.fresh, stamp, self.renew_note, rulebook=self.rulebook)
            now_kept = [visits.now(each.job) for each in answers if each.job]
            told = {job.id: job for job in self._as_they_stand(unit, caller, now_kept)}
            unit.commit()
        self.keep_tickets(self.open_unit_of_work, caller.firm_id, tickets)
        return [replace(one, job=one.job and told[visits.now(one.job).id]) for one in answers]

    def _bare_jobs(
        self,
        remembered: Remembered,
        caller: Caller,
        rows: Sequence[Mapping[str, Any] | RecordNotUsable],
        own_ids: Sequence[UUID],
    ) -> list[Job | Refusal]:
        """Return each row as a job without its estimate, or why it can't be one."""
        told = [row for row in rows if not isinstance(row, Refusal)]
        remembered.read_references(REFERENCES, told)
        found: list[Job | Refusal] = []
        for row, own_id in zip(rows, own_ids, strict=True):
            try:
                if isinstance(row, Refusal):
                    raise row
                found.append(self._bare_job(remembered, caller, row, own_id=own_id))
            except Refusal as refusal:
                found.append(refusal)
        return found

    def amend(
        self,
        caller: Caller,
        job_id: UUID,
        changes: Mapping[str, Any],
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> Job:
        """Write the changes as a new version, estimate again, keep what was before.

        Raises
        ------
        RecordMissing, VersionOvertaken, RecordNotUsable, MoreThanThereIs, TaintOnRecord
        """
        versions = {job_id: expected_version}
        (new,) = self.amend_many(caller, {job_id: changes}, versions, reason=reason)
        return new

    def amend_many(
        self,
        caller: Caller,
        changes: Mapping[UUID, Mapping[str, Any]],
        versions: Mapping[UUID, int] | None = None,
        *,
        reason: str | None = None,
        taken_over_at: datetime | None = None,
        kept_apart: Sequence[str] = (),
        never_aboard: bool = False,
    ) -> list[Job]:
        """Amend all of some jobs, or, if one cannot be, none. Raises as for one.

        Parameters
        ----------
        versions
            Those that the changes were made of, by job; None: of any.
        taken_over_at
            When they were forked over into the vehicle that the changes name, if they were.
        kept_apart
            The lots that they lay in one body with and were kept apart from, by their codes.
        never_aboard
            Whether it is said that they never were in the vehicle on record.
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            pairs = []
            for job_id, changed in changes.items():
                old = self._find(unit, caller, job_id)
                expected = old.version if versions is None else versions[job_id]
                if expected != old.version:
                    raise VersionOvertaken(record="job", current=old.version, expected=expected)
                bare = of_its_yard(unit, old, changed).renewed(now)
                moved = (old.vehicle_id, old.depot_id) != (bare.vehicle_id, bare.depot_id)
                faults = amending_faults(unit, caller, old, bare)
                left = left_as_was(old, bare)
                remembered = Remembered(unit, caller.firm_id)
                named = moved or (old.crew_id, old.at) != (bare.crew_id, bare.at)
                self._refuse(remembered, bare, faults, moved=moved, named=named, unasked=left)
                pairs.append((old, bare))
            facts = read_lot_facts(unit, caller.firm_id, [job for pair in pairs for job in pair])
            tickets = read_tickets(unit, caller.firm_id, [new for _, new in pairs])
            pairs = [
                (old, work_out(bare, facts, tickets.of(bare), rulebook=self.rulebook))
                for old, bare in pairs
            ]
            refuse_cleaner(caller, pairs, reason)
            refuse_moved(unit, pairs, now, is_told=bool(never_aboard or taken_over_at))
            # The days first, as planning does: two orders would lock each other out.
            stamp = self.stamp(now, caller, reason)
            touch_days_of(unit, (job for pair in pairs for job in pair), facts.depots, stamp)
            also: dict[str, object] = {}
            if taken_over_at is not None:
                also[TAKEN_OVER_AT] = [None, taken_over_at.isoformat()]
            if kept_apart:
                also["lay_with"] = [", ".join(kept_apart), None]
                for job_id in changes:
                    unit.body_stays.keep_apart(caller.firm_id, job_id, now)
            follow_stays(unit, pairs, taken_over_at=taken_over_at)
            self._write(unit, pairs, stamp, also)
            told = self._as_they_stand(unit, caller, [new for _, new in pairs])
            unit.commit()
        self.keep_tickets(self.open_unit_of_work, caller.firm_id, tickets)
        return told

    def page(self, caller: Caller, *, seen_by: UnitOfWork | None = None, **asked: Any) -> Page[Job]:  # noqa: ANN401 - as the books take them
        """Return a page of jobs, told and found by their statuses of now. Raises NotAllowed."""
        read = super().page
        with self.open_reading() if seen_by is None else nullcontext(seen_by) as unit:
            return page_as_told(lambda **some: read(caller, seen_by=unit, **some), **asked)

    def _told(self, unit: UnitOfWork, caller: Caller, records: Sequence[Job]) -> list[Job]:
        """Return jobs with their statuses of now."""
        return self._as_they_stand(unit, caller, super()._told(unit, caller, records))

    def _as_they_stand(self, unit: UnitOfWork, caller: Caller, jobs: Sequence[Job]) -> list[Job]:
        now = self.clock.now()
        return as_they_stand(unit, caller.firm_id, jobs, now=now, rulebook=self.rulebook)

    def _find(self, unit: UnitOfWork, caller: Caller, record_id: UUID) -> Job:
        return find_job(unit, caller, record_id, what=JOB_SHELF.reading)

    def _write(
        self,
        unit: UnitOfWork,
        pairs: Sequence[tuple[Job, Job]],
        stamp: Stamp,
        also: Mapping[str, object] = MappingProxyType({}),
    ) -> None:
        """Write jobs over what they were, with what was changed and all that follows from it."""
        for old, new in pairs:
            unit.jobs.replace(new, expected_version=old.version)
            said = amendment_of("jobs", old, new, stamp)
            unit.amendments.add(replace(said, changes={**said.changes, **also}))
        follow_jobs(unit, pairs, stamp, self.renew_note, rulebook=self.rulebook)

    def _bare_job(
        self, remembered: Remembered, caller: Caller, values: Mapping[str, Any], *, own_id: UUID
    ) -> Job:
        now = self.clock.now()
        fields = dict(values)
        job_id = fields.pop("id", None) or own_id
        planned = fields.pop(AS_PLANNED, ())
        faults = fill_in(remembered, fields)
        job = Job(
            id=job_id,
            firm_id=caller.firm_id,
            version=1,
            created_at=now,
            updated_at=now,
            lot_code=lot_code_of(job_id),
            **{**dict.fromkeys(FILLED_IN, NOBODY), **fields},
        )
        # What was recorded before may be corrected; nothing more is.
        faults += erased_faults("property_id", remembered.get("properties", job.property_id))
        others = others_faults(caller, job)
        self._refuse(remembered, job, others, moved=True, named=True, known=faults, unasked=planned)
        return job

    def _refuse(
        self,
        remembered: Remembered,
        job: Job,
        others: Sequence[FieldFault],
        *,
        moved: bool,
        named: bool,
        known: Sequence[FieldFault] = (),
        unasked: Collection[str] = (),
    ) -> None:
        """Refuse a job with the faults that are known of it and all others, one a field."""
        latest = self.clock.now() + self.clock_tolerance
        beside = record_faults(remembered, job, latest=latest)
        faults = [*job.faults(), *(fault for fault in beside if fault.pointer not in unasked)]
        faults += [*missing_names(remembered, job), *others]
        if moved:
            faults += other_depot(remembered, job)
        if named:
            faults += no_longer_used(remembered, job)
        told = {fault.pointer for fault in known}
        if known:  # what could not be filled in is told by the name it would follow from
            told |= {f"/{name}" for name in FILLED_IN if getattr(job, name) == NOBODY}
        faults = [*known, *(fault for fault in faults if fault.pointer not in told)]
        if faults:
            raise RecordNotUsable(faults)
