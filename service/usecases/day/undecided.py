"""Cuts that may be on record twice, until somebody says whether they are."""

from __future__ import annotations

from uuid import UUID

from service.core.jobs import Job, JobState
from service.usecases.base.ports import UnitOfWork


def undecided_jobs(unit: UnitOfWork, firm_id: UUID, depot_id: UUID) -> list[Job]:
    """Return all of a depot that wait, however long ago they were cut, by id."""
    # The depot is looked at here: said to the database it lets it read the jobs of a season by
    # depot, where the few that wait are found by their state.
    found: list[Job] = unit.jobs.all(firm_id, state=JobState.POSSIBLE_DUPLICATE)
    return [job for job in found if job.depot_id == depot_id]
