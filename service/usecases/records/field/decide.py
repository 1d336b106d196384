"""Decide what a cut is that is too much like another one: the same, or another."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from service.core.callers.access import Act, Caller, refuse_unless_allowed
from service.core.errors import FieldFault, RecordNotUsable, Refusal
from service.core.jobs import UNCOUNTED_STATES, Job, JobState, SizeWord
from service.core.loads import Load, LoadPart
from service.core.mass_book import NOTHING
from service.core.records import Clock
from service.core.reports import ReportedPart
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.mass_book.lay_with import lay_with
from service.usecases.records.amending import TaintOnRecord
from service.usecases.records.field.scope import needed
from service.usecases.records.held.queue_states import STAYED_STATES
from service.usecases.records.loads.record_tip import NewTip, RecordTip
from service.usecases.records.loads.said_of_grass import NothingSaid, as_meant, as_recorded, said_of
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_jobs import RecordJobs

KEPT_APART: Final = "say that clippings were kept apart"
NEVER_ABOARD: Final = "say that clippings never were in the vehicle on record"
MEANT: Final = "say what was meant where clippings were brought"
SEEN: Final = ("weeds_in_seed", "disease_seen", "litter_seen", "leaves_mixed")


class NothingToDecide(Refusal):
    """Only of a job that may be a duplicate somebody can say whether it is one."""

    code = "nothing_to_decide"
    sentence = "This job is on record as {state}: nothing about it waits for a decision."


class DecideDuplicate:
    """Let a possible duplicate count as another cut, or never; or grass as it is recorded."""

    def __init__(
        self,
        *,
        jobs: RecordJobs,
        update_load: UpdateLoad,
        record_tip: RecordTip,
        open_reading: OpenUnitOfWork,
        clock: Clock,
    ) -> None:
        """Take the use cases that amend jobs and loads, the records, and what tells the time."""
        self._jobs = jobs
        self._update_load = update_load
        self._record_tip = record_tip
        self._clock = clock
        self._open_reading = open_reading

    def __call__(self, caller: Caller, job_id: UUID, *, is_same: bool | None) -> Job:
        """Return the job as it is decided; decided so before, it is as it was.

        Who says the same cut twice, and once saw litter, has seen it: that stays.

        Raises
        ------
        RecordMissing, RecordNotUsable, NothingToDecide, VersionOvertaken
        """
        job = self._jobs.read(caller, job_id)
        if is_same is None:
            raise needed("decision", "Say another_cut or the_same.")
        wanted = JobState.CANCELLED if is_same else JobState.MOWN
        if job.duplicate_of_id is not None and job.state is wanted:
            return job
        if job.duplicate_of_id is None or job.state is not JobState.POSSIBLE_DUPLICATE:
            raise NothingToDecide(state=job.state.value)
        if is_same:
            self._see(caller, job, job.duplicate_of_id)
        return self._jobs.amend(
            caller,
            job.id,
            {"state": wanted},
            expected_version=job.version,
            reason="The same cut, said twice." if is_same else "Another cut.",
        )

    def take_back(self, caller: Caller, job_id: UUID, *, reason: str | None) -> Job:
        """Return the job as it is recorded: what was said where it was brought was not so.

        Where nothing was said there, it was kept apart from what it lay in one body with.

        Raises
        ------
        RecordMissing, NothingSaid, NotAllowed, TaintOnRecord, VersionOvertaken
        """
        job = self._jobs.read(caller, job_id)
        beside: list[str] = []
        if not said_of(job):
            with self._open_reading() as unit:
                lay, _ = lay_with(unit, caller.firm_id, [job])
            beside = sorted(one.lot_code for one in lay.values())
        findings = as_recorded(job)
        if findings == job.findings:
            if not beside:
                raise NothingSaid(lot=job.lot_code)
            refuse_unless_allowed(caller.role, Act.PLAN, deed=KEPT_APART)
            if not reason:
                raise TaintOnRecord(lot=job.lot_code, taints=f"mixed with {', '.join(beside)}")
        (kept,) = self._jobs.amend_many(
            caller,
            {job.id: {"findings": findings}},
            {job.id: job.version},
            reason=reason,
            kept_apart=beside,
        )
        return kept

    def never_aboard(
        self, caller: Caller, job_id: UUID, vehicle_id: UUID, *, reason: str | None
    ) -> Job:
        """Return the job as one that was in another vehicle from its cut on, and never in that.

        Raises
        ------
        RecordMissing, RecordNotUsable, NotAllowed, VersionOvertaken, MoreThanThereIs
        """
        job = self._jobs.read(caller, job_id)
        refuse_unless_allowed(caller.role, Act.PLAN, deed=NEVER_ABOARD)
        if not reason:
            raise needed("vehicle_id", "Say in a Change-Reason how it is known that it never was.")
        (kept,) = self._jobs.amend_many(
            caller,
            {job.id: {"vehicle_id": vehicle_id}},
            {job.id: job.version},
            reason=reason,
            never_aboard=True,
        )
        return kept

    def say_what_was_meant(
        self, caller: Caller, job_id: UUID, meant: str, *, reason: str | None
    ) -> Job:
        """Return the job as what a place meant that sent it away in its own words.

        Raises
        ------
        RecordMissing, NothingSaid, NotAllowed, TaintOnRecord, VersionOvertaken
        """
        job = self._jobs.read(caller, job_id)
        findings = as_meant(job, meant)
        if findings == job.findings:
            raise NothingSaid(lot=job.lot_code)
        refuse_unless_allowed(caller.role, Act.PLAN, deed=MEANT)
        return self._jobs.amend(
            caller,
            job.id,
            {"findings": findings},
            expected_version=job.version,
            reason=reason,
        )

    def confirm_size(self, caller: Caller, job_id: UUID, *, reason: str | None) -> Job:
        """Return the job as one that is as large as recorded: who said so, and when, stays with it.

        Raises
        ------
        RecordMissing, NothingToDecide, VersionOvertaken
        """
        job = self._jobs.read(caller, job_id)
        if job.size_confirmed is not None:
            return job
        if job.state in UNCOUNTED_STATES:
            raise NothingToDecide(state=job.state.value)
        word = SizeWord(at=self._clock.now(), said_by=caller.role.value, size=job.size)
        return self._jobs.amend(
            caller,
            job.id,
            {"size_word": word},
            expected_version=job.version,
            reason=reason or "It is as large as recorded.",
        )

    def still_aboard(self, caller: Caller, job_id: UUID, *, reason: str | None) -> Job:
        """Return the job as one that stayed aboard, whatever its vehicle has tipped by now.

        Raises
        ------
        RecordMissing, NothingToDecide, VersionOvertaken
        """
        job = self._jobs.read(caller, job_id)
        if job.state is not JobState.MOWN:
            raise NothingToDecide(state=job.state.value)
        return self._jobs.amend(
            caller,
            job.id,
            {"aboard_after": self._clock.now()},
            expected_version=job.version,
            reason=reason or "It stayed aboard.",
        )

    def went_in(self, caller: Caller, job_id: UUID, load_id: UUID, *, reason: str | None) -> Job:
        """Return a job that was told only after a tip, as what went in it.

        Raises
        ------
        RecordMissing, RecordNotUsable, MoreThanThereIs, VersionOvertaken
        """
        job = self._jobs.read(caller, job_id)
        with self._open_reading() as unit:
            load: Load | None = unit.loads.get(caller.firm_id, load_id)
            if load is not None and any(part.job_id == job.id for part in load.parts):
                return job
            share = lots_aboard(unit, caller.firm_id, {job.id: job}, None)[0][job.id]
        is_after = load is not None and load.done_at is not None and load.done_at > job.at
        if load is None or load.state not in STAYED_STATES or not is_after or share <= NOTHING:
            detail = (
                "Name a load that was tipped after the cut, whose clippings are aboard by the "
                "records."
            )
            raise RecordNotUsable([FieldFault(pointer="/load_id", detail=detail)])
        why = reason or f"{job.lot_code} was told late: it went in this tip."
        if is_hold(load.destination_kind):
            # A heap of its own beside that one: its hours are told by what is in it.
            tip = NewTip(
                vehicle_id=load.vehicle_id,
                crew_id=load.crew_id,
                destination_kind=load.destination_kind,
                destination_id=load.destination_id,
                done_at=load.done_at or load.arrive_at,
                parts=(ReportedPart(job_id=job.id),),
            )
            self._record_tip(caller, tip, reason=why)
            return self._jobs.read(caller, job_id)
        part = LoadPart(job_id=job.id, lot_code=job.lot_code, share=min(round(share, 9), 1.0))
        changes = {"parts": (*load.parts, part)}
        self._update_load(caller, load.id, changes, expected_version=load.version, reason=why)
        return self._jobs.read(caller, job_id)

    def _see(self, caller: Caller, job: Job, like_id: UUID) -> None:
        like = self._jobs.read(caller, like_id)
        seen = {name: True for name in SEEN if getattr(job, name) and not getattr(like, name)}
        if seen:
            reason = f"Seen by whoever said {job.lot_code}, which is the same cut."
            self._jobs.amend(caller, like.id, seen, expected_version=like.version, reason=reason)
