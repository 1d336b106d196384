"""Keep treatments: what a lawn got is not unknown again because somebody deletes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from service.core.callers.access import Act, Amendment, Caller, refuse_unless_allowed
from service.core.errors import RecordMissing, Refusal
from service.core.jobs import Job
from service.core.treatments import Treatment
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.amending import changes_of, deletion_of
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.refresh_lots import cut_since, jobs_on, lawns_of


class TreatmentNeeded(Refusal):
    """What was cut since is what it is by this treatment."""

    code = "treatment_needed"
    sentence = "This treatment stays as it is: {why} {remedy}"


class KeepTreatments(KeepRecords[Treatment]):
    """Create, read, list, amend and delete treatments."""

    def supposed(self, caller: Caller, values: Mapping[str, Any]) -> list[tuple[Job, Job]]:
        """Return the jobs that a treatment would change, as they are and as they would be.

        It is entered as if it were kept, in a transaction that is then given up.

        Raises
        ------
        RecordNotUsable
        """
        with self.open_unit_of_work() as unit:
            before = {job.id: job for job in jobs_on(unit, caller.firm_id, {values["lawn_id"]})}
            self._entered(unit, caller, values, self.identifiers)
            after = unit.jobs.get_many(caller.firm_id, sorted(before))
        changed = [(before[job.id], job) for job in after.values() if job != before[job.id]]
        return sorted(changed, key=lambda pair: (pair[0].at, pair[0].id))

    def history(self, caller: Caller, record_id: UUID) -> list[Amendment]:
        """Return the changes of a treatment, oldest first, also of one that was deleted."""
        try:
            return super().history(caller, record_id)
        except RecordMissing:
            with self.open_reading() as unit:
                found = changes_of(unit, caller.firm_id, record_id)
            kept = [one for one in found if one.record_kind == self.shelf.repository]
            if not kept:
                raise
            return kept

    def _before_deletion(
        self, unit: UnitOfWork, caller: Caller, record: Treatment, reason: str | None
    ) -> None:
        """Keep who deletes it, when and why. Raises TreatmentNeeded, NotAllowed."""
        self._refuse_to_forget(unit, caller, record, reason)
        stamp = self.stamp(self.clock.now(), caller, reason)
        unit.amendments.add(deletion_of(self.shelf.repository, record, stamp))

    def _before_amendment(
        self,
        unit: UnitOfWork,
        caller: Caller,
        old: Treatment,
        new: Treatment,
        reason: str | None,
    ) -> None:
        """Refuse what may make grass cleaner: that is as good as deleting the treatment."""
        if _may_be_milder(old, new):
            self._refuse_to_forget(unit, caller, old, reason)

    def _refuse_to_forget(
        self, unit: UnitOfWork, caller: Caller, record: Treatment, reason: str | None
    ) -> None:
        """Refuse, but for a reason, that what was cut since is clean. See ``TreatmentNeeded``."""
        jobs = [
            job
            for job in jobs_on(unit, record.firm_id, lawns_of(unit, record))
            if cut_since(job, record)
        ]
        _refuse_if_recalled(unit, record, jobs)
        if jobs:
            deed = "take away a treatment, or make it milder, of a lawn that has jobs since"
            refuse_unless_allowed(caller.role, Act.PLAN, deed=deed)
        if jobs and not reason:
            raise TreatmentNeeded(
                why=f"its lawn has jobs since ({len(jobs)}), which may be clean without it.",
                remedy=(
                    "If it never was so, send the same again with a Change-Reason: it is kept."
                ),
            )


def _may_be_milder(old: Treatment, new: Treatment) -> bool:
    """Return whether grass may be cleaner by a treatment as it is amended.

    Another lawn or day, less of it, a name for what was unknown, another word of the label (it
    beats the rules, whichever is longer), or a bioassay that was passed.
    """
    is_moved = (old.lawn_id, old.applied_on) != (new.lawn_id, new.applied_on)
    before, after = set(old.active_ingredients), set(new.active_ingredients)
    is_named = not before and bool(after)
    is_passed = new.bioassay is not None and new.bioassay.passed
    return (
        is_moved
        or is_named
        or not before <= after
        or old.label_wait != new.label_wait
        or (is_passed and old.bioassay != new.bioassay)
    )


def _refuse_if_recalled(unit: UnitOfWork, treatment: Treatment, jobs: Sequence[Job]) -> None:
    ids = {job.id for job in jobs}
    for recall in unit.recalls.all(treatment.firm_id, is_open=True):
        recalled = {lawn.lawn_id for lawn in recall.lawns}
        if treatment.lawn_id in recalled or ids.intersection(recall.job_ids):
            raise TreatmentNeeded(
                why=f"an open recall rests on it ({recall.reason.rstrip('.')}).",
                remedy="End the recall first.",
            )
