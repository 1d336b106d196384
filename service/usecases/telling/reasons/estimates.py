"""Why a job's estimate is what it is: factors, the rules they come from, sources, tickets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from math import sqrt
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.core.jobs import Job, LotEstimate
from service.core.loads import Load, TicketReview
from service.core.measures.estimates import Estimate
from service.destinations.verdicts import Wait
from service.rules.lookup import Rulebook
from service.rules.rows import RuleValue
from service.usecases.base.calendar import day_of
from service.usecases.base.lots.lot_estimates import stood_until
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Asking
from service.usecases.compute.looked_up import YIELDS, told, told_factor, told_rule, told_source

REVIEW = "ticket_review"
UNTAUGHT = (
    "No weigh ticket has spoken yet. What is typical of a firm's grass, and of how it measures, is "
    "in all of its lots at once: in one firm of ten everything weighs more than {more} times what "
    "is likely here, in one of ten less than that divided by {less}, and then the range fails for "
    "most lots, not for one in five. Five weighed loads show it; until then load by the high end."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class TellWhy(Asking):
    """Tell what stands behind a job's estimate and status."""

    rulebook: Rulebook

    def __call__(self, caller: Caller, job_id: UUID) -> dict[str, object]:
        """Return the estimate with its factors, their rules and sources, tickets and findings.

        A factor's rule is found by its value: ``rule`` is null where the rulebook changed
        since the estimate was made, or where the number was entered or weighed.

        Raises
        ------
        RecordMissing
        """
        with self.open_unit_of_work() as unit:
            job = find_job(unit, caller, job_id)
            facts = read_lot_facts(unit, caller.firm_id, [job])
            tickets = _tickets(unit, job)
            at = stood_until(unit, caller.firm_id, [job], now=self.clock.now())[job.id]
        depot = facts.depots[job.depot_id]
        day = day_of(depot, job.at)
        lot = facts.lot_of(job, rulebook=self.rulebook, at=at)
        estimate = job.estimate
        factors = [] if estimate is None else self._factors(estimate, day, depot.jurisdiction)
        keys = {key for factor in factors for key in _keys(factor)}
        keys |= {key for wait in lot.waits.values() for key in wait.sources}
        return {
            "job_id": str(job.id),
            "lot_code": job.lot_code,
            "day": day.isoformat(),
            "jurisdiction": depot.jurisdiction,
            "rulebook_version": None if estimate is None else estimate.rulebook_version,
            "rulebook_version_now": self.rulebook.version,
            "estimate": None
            if estimate is None
            else {**_told(estimate), "untaught": self._untaught(estimate, day)},
            "factors": factors,
            "tickets": tickets,
            "status": lot.status.value,
            "findings": [
                {"status": finding.status.value, "code": finding.code, "facts": finding.facts}
                for finding in lot.findings
            ],
            "waits": {use: _told_wait(wait) for use, wait in lot.waits.items()},
            "sources": sources_of(self.rulebook, keys),
        }

    def _untaught(self, estimate: LotEstimate, day: date) -> dict[str, object] | None:
        """Return how far all of a firm's estimates may be off before a ticket; None after one.

        The interval holds over firms. Within one firm its own part of the error is in every lot:
        ln of the factor is the firm's part of the deviation, at the same 10th and 90th percentile.
        """
        if estimate.tickets:
            return None
        mass = estimate.mass_kg
        share = self.rulebook.value_on("learning_variance_share", day, level="firm").value
        more, less = (
            round((far / near) ** sqrt(share), 2) if near > 0 else None
            for far, near in ((mass.high, mass.likely), (mass.likely, mass.low))
        )
        return {
            "firm_factor_high": more,
            "firm_factor_low": less,
            "sentence": UNTAUGHT.format(more=f"{more:g}", less=f"{less:g}")
            if more and less
            else None,
        }

    def _factors(
        self, estimate: LotEstimate, day: date, jurisdiction: str
    ) -> list[dict[str, object]]:
        found = []
        for factor in estimate.factors:
            row = self._row_of(factor.value, day, jurisdiction)
            found.append({**told_factor(factor), "rule": None if row is None else told_rule(row)})
        return found

    def _row_of(self, value: Estimate, day: date, jurisdiction: str) -> RuleValue | None:
        """Return the rule's row a factor is the value of, if it is in force that day."""
        for rule in self.rulebook.rules.values():
            for row in rule.rows:
                if row.estimate == value and row == self.rulebook.value_on(
                    rule.name, day, jurisdiction=jurisdiction, **dict(row.case)
                ):
                    return row
        return None


def find_job(unit: UnitOfWork, caller: Caller, job_id: UUID) -> Job:
    """Return the firm's job. Raises RecordMissing, also for another firm's."""
    job = unit.jobs.get(caller.firm_id, job_id)
    if job is None:
        raise RecordMissing(record="job", id=job_id)
    return job


def sources_of(rulebook: Rulebook, keys: Iterable[str]) -> dict[str, dict[str, object]]:
    """Return the sources of some keys in full, those that the rulebook still has."""
    return {key: told_source(rulebook, key) for key in sorted(set(keys)) if key in rulebook.sources}


def _told(estimate: LotEstimate) -> dict[str, object]:
    before = estimate.mass_before_tickets_kg
    return {
        **told(estimate, *YIELDS),
        "tickets": estimate.tickets,
        "mass_before_tickets_kg": None if before is None else told(before),
    }


def _keys(factor: dict[str, object]) -> list[str]:
    keys = factor["sources"]
    return [str(key) for key in keys] if isinstance(keys, list) else []


def _told_wait(wait: Wait) -> dict[str, object]:
    return {
        "over": wait.over,
        "code": wait.code,
        "sentence": wait.sentence,
        "rule_class": wait.rule_class.value,
        "facts": dict(wait.facts),
        "sources": list(wait.sources),
    }


def _tickets(unit: UnitOfWork, job: Job) -> list[dict[str, object]]:
    """Return the weigh tickets that stood as accepted when the job was last estimated."""
    if job.estimate is None or job.estimate.tickets == 0:
        return []
    reviewed = unit.loads.all(
        job.firm_id, ticket_review=(TicketReview.ACCEPTED, TicketReview.SET_ASIDE)
    )
    loads = [
        load
        for load in reviewed
        if load.created_at <= job.updated_at and _accepted_by(unit, load, job.updated_at)
    ]
    jobs = unit.jobs.get_many(
        job.firm_id, sorted({part.job_id for load in loads for part in load.parts})
    )
    return [
        {
            "load_id": str(load.id),
            "weigh_ticket": load.weigh_ticket,
            "weighed_net_kg": None if load.weighed_net is None else load.weighed_net.si_value,
            "estimated_kg": _estimated_kg(load, jobs),
            "done_at": load.done_at,
        }
        for load in loads
        if not any(jobs[part.job_id].leaves_mixed for part in load.parts if part.job_id in jobs)
    ]


def _estimated_kg(load: Load, jobs: Mapping[UUID, Job]) -> float:
    """Return what a load was thought to weigh before any ticket spoke."""
    return sum(
        part.share * load.weighed_share * job.estimate.mass_unlearned_kg.likely
        for part in load.parts
        if (job := jobs.get(part.job_id)) is not None and job.estimate is not None
    )


def _accepted_by(unit: UnitOfWork, load: Load, at: datetime) -> bool:
    """Tell whether a load's ticket stood as accepted at a moment, by the trail of changes."""
    if load.updated_at <= at:
        return load.ticket_review is TicketReview.ACCEPTED
    stood = TicketReview.AWAITED.value
    for amendment in unit.amendments.of(load.firm_id, load.id):
        change = amendment.changes.get(REVIEW)
        if amendment.at <= at and isinstance(change, list | tuple):
            stood = str(change[1])
    return stood == TicketReview.ACCEPTED.value
