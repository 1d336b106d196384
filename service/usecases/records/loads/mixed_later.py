"""What is learned of a lot after it left a body counts for what lay there with it, wherever it is.

While both lie in one body, or left it in one load, that load is all of them. Once one of them left
without the other each counts as both, and so it does if that is learned days after.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.jobs import Job, LotFinding
from service.core.mass_book import STILL, VEHICLE
from service.core.materials import LotStatus, worst_status
from service.destinations.lots import MIXED, as_known, as_smelt
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.movements import is_bagged, standing

# How long a treatment is to be waited for is counted of its own lawn; of grass that lay beside it
# nobody knows it.
COUNTS_AS: Final[Mapping[LotStatus, LotStatus]] = {LotStatus.TREATED: LotStatus.UNKNOWN}


def word_of(status: LotStatus, codes: Collection[str], at: datetime) -> LotFinding:
    """Return that a lot counts as a status, for what lay in one body with it until a moment."""
    facts: dict[str, object] = {"lay_with": ", ".join(sorted(set(codes))), "at": at.isoformat()}
    return LotFinding(status=status, code=MIXED, facts=facts)


def mixed_later(
    unit: UnitOfWork, pairs: Sequence[tuple[Job, Job]], now: datetime
) -> list[tuple[Job, Job]]:
    """Return which lots amended ones make otherwise, each as it was and is; it is to be written.

    Parameters
    ----------
    pairs
        Each job as it was and as it was just written, with its stays.
    """
    later = _Later(unit)
    for old, new in pairs:
        for other in _never_there(unit, old, new):
            later.take_back(other, old, None)
        came = _came_anew(unit, old, new)
        if not is_bagged(new) or (not came and _statuses(old) == _statuses(new)):
            continue
        parted = _parted_from(unit, new)
        jobs = unit.jobs.get_many(new.firm_id, sorted(parted))
        for other in jobs.values():
            at = parted[other.id]
            if came:
                later.let_count(new, other, at)
            later.let_count(other, new, at, before=None if came else old)
            later.take_back(other, old, new, at)
    return [
        (old, replace(new, version=old.version + 1, updated_at=now))
        for old, new in later.found.values()
        if old.findings != new.findings
    ]


@dataclass(frozen=True, slots=True)
class _Later:
    """What lots are found to be: each as it was and is."""

    unit: UnitOfWork
    found: dict[UUID, tuple[Job, Job]] = field(default_factory=dict)

    def let_count(self, job: Job, other: Job, at: datetime, *, before: Job | None = None) -> None:
        """Let a lot count as another that it lay with; as what that was ``before``, it does."""
        was, job = self.found.get(job.id, (job, job))
        if not is_bagged(job):
            return
        known = {one.status for one in as_smelt(job, at).findings}
        known |= set() if before is None else _counts_as(before, job, at)
        fresh = sorted(_counts_as(other, job, at) - known)
        words = [word_of(status, [other.lot_code], at) for status in fresh]
        self.found[job.id] = (was, _found_to_be(job, (*job.findings, *words)))

    def take_back(self, job: Job, old: Job, new: Job | None, at: datetime = STILL) -> None:
        """Let a lot not count as another any more that is not so, unless a third is.

        Parameters
        ----------
        new
            None if it never lay with it.
        """
        was, job = self.found.get(job.id, (job, job))
        is_so = set() if new is None else _counts_as(new, job, at)
        gone = set(LotStatus) if new is None else _counts_as(old, job, at) - is_so
        findings: list[LotFinding] = []
        for finding in job.findings:
            codes = _codes(finding)
            if finding.status not in gone or old.lot_code not in codes:
                findings.append(finding)
                continue
            since = datetime.fromisoformat(str(finding.facts["at"]))
            codes = codes - {old.lot_code} or _others_with(self.unit, job, old, finding.status)
            if codes:
                findings.append(word_of(finding.status, codes, since))
        self.found[job.id] = (was, _found_to_be(job, tuple(findings)))


def _there(job: Job) -> tuple[UUID, datetime] | None:
    return (job.vehicle_id, job.at) if is_bagged(job) else None


def _never_there(unit: UnitOfWork, old: Job, new: Job) -> list[Job]:
    """Return the lots that were said to have lain with one that was never with them."""
    there = _there(old)
    if there in {None, _there(new)}:
        return []
    lay = unit.body_stays.lots_in(old.firm_id, *there)
    lay -= {other.job_id for _, other in unit.body_stays.met_by(new.firm_id, new.id)}
    jobs = unit.jobs.get_many(old.firm_id, sorted(lay - {old.id}))
    return [job for job in jobs.values() if any(old.lot_code in _codes(f) for f in job.findings)]


def _statuses(job: Job) -> set[LotStatus]:
    return {finding.status for finding in job.findings}


def _came_anew(unit: UnitOfWork, old: Job, new: Job) -> bool:
    """Return whether a lot is said to have been in a body which something left after it came."""
    if _there(new) in {None, _there(old)}:
        return False
    return unit.body_stays.any_left(new.firm_id, [new.vehicle_id], new.at)


def _parted_from(unit: UnitOfWork, job: Job) -> dict[UUID, datetime]:
    """Return the lots that lay in one body with one and that one of both left alone, and when."""
    met = unit.body_stays.met_by(job.firm_id, job.id)
    ids = sorted({job.id, *(other.job_id for _, other in met)})
    left: dict[tuple[UUID, UUID], dict[UUID, datetime]] = defaultdict(dict)
    for entry in standing(unit.mass_movements.of_lots(job.firm_id, ids)) if met else ():
        if entry.from_kind == VEHICLE:
            left[entry.from_id, entry.lot_id][entry.cause_id] = entry.happened_at
    found: dict[UUID, datetime] = {}
    for mine, other in met:
        begins, ends = max(mine.since, other.since), min(mine.until, other.until)
        own, others = (left[stay.vehicle_id, stay.job_id] for stay in (mine, other))
        hours = [(own | others)[cause_id] for cause_id in own.keys() ^ others.keys()]
        hours = [at for at in hours if begins <= at <= ends]
        if mine.until != other.until:
            hours.append(ends)
        if hours:
            found[other.job_id] = min([*hours, found.get(other.job_id, hours[0])])
    return found


def _others_with(unit: UnitOfWork, job: Job, but: Job, status: LotStatus) -> set[str]:
    """Return the lots but one that a lot was parted from and that count as a status without it."""
    parted = _parted_from(unit, job)
    jobs = unit.jobs.get_many(job.firm_id, sorted(parted.keys() - {but.id}))
    return {
        one.lot_code for one in jobs.values() if status in _counts_as(one, job, parted[one.id], but)
    }


def _counts_as(job: Job, other: Job, at: datetime, but: Job | None = None) -> set[LotStatus]:
    """Return what a lot makes of another; not what it has of that one itself, or of a third."""
    without = {one.lot_code for one in (other, but) if one is not None}
    return {
        COUNTS_AS.get(finding.status, finding.status)
        for finding in as_known(job, at).findings
        if not without & _codes(finding)
    }


def _codes(finding: LotFinding) -> set[str]:
    return set(str(finding.facts["lay_with"]).split(", ")) if finding.code == MIXED else set()


def _found_to_be(job: Job, findings: tuple[LotFinding, ...]) -> Job:
    left = [finding.status for finding in findings] or [LotStatus.CLEAN]
    return replace(job, findings=findings, status=worst_status(left))
