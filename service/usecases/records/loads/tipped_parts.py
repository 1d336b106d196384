"""How much of which lots was tipped, as it is told: what it means, and why it cannot have been."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from service.core.errors import FieldFault
from service.core.jobs import Job
from service.core.loads import LoadPart
from service.core.reports import ReportedPart
from service.destinations.lots import amounts_of
from service.usecases.base.calendar import depot_clock
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.movements import is_bagged


def why_not(
    unit: UnitOfWork,
    job: Job | None,
    tip: Any,  # noqa: ANN401 - as far as it can be read
    since: datetime | None,
    *,
    is_again: bool,
) -> str | None:
    """Return why a job's clippings cannot have been tipped then; None if they can."""
    if job is None:
        return "There is no job with this id."
    if is_again:
        return "A lot stands in one part."
    if not is_bagged(job):
        return f"{job.lot_code} is not recorded as mown and collected; amend its job first."
    if tip.done_at is None or since is None or since <= tip.done_at:
        return None
    depot = unit.depots.get(job.firm_id, job.depot_id)
    at = depot_clock(depot, since, now=tip.done_at)
    if job.at > tip.done_at:
        return f"{job.lot_code} was cut at {at}, after it was tipped."
    return f"{job.lot_code} came into this vehicle at {at}, after it was tipped."


def told_share(part: ReportedPart, job: Job, aboard: Mapping[UUID, float]) -> float:
    """Return the share of a job that was tipped, as it is told."""
    if part.mass is not None and job.estimate is not None:
        return part.mass.si_value / amounts_of(job, job.estimate)[0].likely
    return aboard.get(part.lot_id, 0.0) if part.share is None else part.share


def not_aboard(part: ReportedPart, job: Job, aboard: float, number: int) -> FieldFault:
    """Return the fault of a part that is nothing, or more than is aboard."""
    return FieldFault(
        pointer=f"/parts/{number}/{'mass' if part.mass is not None else 'share'}",
        detail=(
            f"{aboard:.1%} of {job.lot_code} is aboard a vehicle by the records; more than "
            "nothing and no more than that was tipped."
        ),
    )


def load_parts(
    parts: Sequence[ReportedPart], jobs: Sequence[Job], aboard: Mapping[UUID, float]
) -> tuple[LoadPart, ...]:
    """Return the parts of a load that was tipped as it is told, each with its job."""
    return tuple(
        LoadPart(
            job_id=job.id,
            lot_code=job.lot_code,
            share=round(min(told_share(part, job, aboard), 1.0), 9),
            hold_entry_id=part.hold_entry_id,
        )
        for part, job in zip(parts, jobs, strict=True)
    )
