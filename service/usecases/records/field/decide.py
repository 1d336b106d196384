"""Decide what a cut is that is too much like another one: the same, or another."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import Refusal
from service.core.jobs import Job, JobState
from service.usecases.records.field.scope import needed
from service.usecases.records.loads.said_of_grass import as_recorded
from service.usecases.records.record_jobs import RecordJobs

SEEN: Final = ("weeds_in_seed", "disease_seen", "litter_seen")


class NothingToDecide(Refusal):
    """Only of a job that may be a duplicate somebody can say whether it is one."""

    code = "nothing_to_decide"
    sentence = "This job is on record as {state}: nothing about it waits for a decision."


class DecideDuplicate:
    """Let a possible duplicate count as another cut, or never."""

    def __init__(self, *, record_jobs: RecordJobs) -> None:
        """Take the use case that amends jobs."""
        self._jobs = record_jobs

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

        Raises
        ------
        RecordMissing, NothingSaid, NotAllowed, TaintOnRecord, VersionOvertaken
        """
        job = self._jobs.read(caller, job_id)
        changes = {"findings": as_recorded(job)}
        return self._jobs.amend(
            caller, job.id, changes, expected_version=job.version, reason=reason
        )

    def _see(self, caller: Caller, job: Job, like_id: UUID) -> None:
        like = self._jobs.read(caller, like_id)
        seen = {name: True for name in SEEN if getattr(job, name) and not getattr(like, name)}
        if seen:
            reason = f"Seen by whoever said {job.lot_code}, which is the same cut."
            self._jobs.amend(caller, like.id, seen, expected_version=like.version, reason=reason)
