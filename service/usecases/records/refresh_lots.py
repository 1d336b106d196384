"""What a treatment changes: the status of the lots cut since, and every plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.records import Clock, Identifiers
from service.core.treatments import Treatment
from service.rules.lookup import Rulebook
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import RenewNote, UnitOfWork
from service.usecases.base.staleness import mark_days_stale
from service.usecases.base.use_cases import Stamp
from service.usecases.records.amending import amendment_of
from service.usecases.records.loads.correct_loads import follow_jobs

# A day begins earlier east of Greenwich.
WHEREVER = timedelta(days=1)


@dataclass(frozen=True, kw_only=True, eq=False)
class RefreshLots:
    """Work out again what is known of a lawn's lots when its treatments change.

    However late it is said: what was tipped long ago lies somewhere, and its note says what it was.
    """

    clock: Clock
    identifiers: Identifiers
    rulebook: Rulebook
    renew_note: RenewNote

    def __call__(self, unit: UnitOfWork, treatment: Treatment) -> None:
        """Refresh the lots of the treatment's lawn, in the transaction that keeps it."""
        mark_days_stale(unit, treatment, self.clock.now())
        firm_id = treatment.firm_id
        said = unit.amendments.of(firm_id, treatment.id)[-1:]
        jobs = [
            job
            for job in jobs_on(unit, firm_id, lawns_of(unit, treatment))
            if cut_since(job, treatment) or bool(job.findings)
        ]
        if not jobs:
            return
        facts = read_lot_facts(unit, firm_id, jobs)
        changed = []
        for job in jobs:
            lot = facts.lot_of(job, rulebook=self.rulebook)
            if (lot.status, lot.findings) != (job.status, job.findings):
                changed.append(
                    replace(job, status=lot.status, findings=lot.findings).renewed(self.clock.now())
                )
        unit.jobs.replace_many(changed)
        is_kept = unit.treatments.get(firm_id, treatment.id) is not None
        why = f"treatment {treatment.id} {'on record' if is_kept else 'deleted'}"
        stamp = Stamp(
            now=self.clock.now(),
            identifiers=self.identifiers,
            key_id=said[0].key_id if said else None,
            reason=f"{why}: {said[0].reason}" if said and said[0].reason else why,
        )
        before = {job.id: job for job in jobs}
        pairs = [(before[job.id], job) for job in changed]
        for old, new in pairs:
            unit.amendments.add(amendment_of("jobs", old, new, stamp))
        follow_jobs(unit, pairs, stamp, self.renew_note, rulebook=self.rulebook)


def jobs_on(unit: UnitOfWork, firm_id: UUID, lawn_ids: Iterable[UUID]) -> list[Job]:
    """Return the jobs of some lawns; one that names no lawn may be on any of its property."""
    lawns = unit.lawns.get_many(firm_id, sorted(lawn_ids))
    homes = tuple(sorted({lawn.property_id for lawn in lawns.values()}))
    found = (
        *unit.jobs.all(firm_id, lawn_id=tuple(lawns)),
        *unit.jobs.all(firm_id, property_id=homes, lawn_id=None),
    )
    return [job for job in found if job.state is not JobState.CANCELLED]


def lawns_of(unit: UnitOfWork, treatment: Treatment) -> set[UUID]:
    """Return the lawns of a treatment: also the one it was said of before it was corrected."""
    found = {treatment.lawn_id}
    for amendment in unit.amendments.of(treatment.firm_id, treatment.id)[-1:]:
        moved = amendment.changes.get("lawn_id")
        if isinstance(moved, list):
            found.add(UUID(str(moved[0])))
    return found


def cut_since(job: Job, treatment: Treatment) -> bool:
    """Return whether a lot may have been cut since a treatment, wherever it was."""
    return job.at >= datetime.combine(treatment.applied_on, time(), tzinfo=UTC) - WHEREVER
