"""A day's plan with everything it was made from, and small words shared by its tellers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from service.core.jobs import JobState
from service.core.loads import Load
from service.core.measures.estimates import Estimate
from service.destinations.lawn import LawnAdvice
from service.destinations.ready import ReadyDestination
from service.destinations.verdicts import kg_at_most
from service.planning.model.result import Plan
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.problem.build import DayProblem


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalAnswer:
    """A plan in which only some vehicles were planned again.

    Attributes
    ----------
    causes
        Why they were, by the planner's names of vehicles.
    in_a_row
        How many answers there were since the whole day was searched, this one included.
    """

    plan: Plan
    causes: dict[str, str]
    in_a_row: int


@dataclass(frozen=True, kw_only=True)  # no slots: it remembers what it was asked
class PlannedDay:
    """A plan and everything it was made from, ready to be told.

    ``held_stays`` says of entries of the hold queue why no vehicle brings them on, though somebody
    would take them.
    """

    facts: DayFacts
    asked: Asked
    built: DayProblem
    plan: Plan
    planned: Sequence[Load]
    advice: Mapping[UUID, LawnAdvice]
    local: LocalAnswer | None = None
    held_stays: Mapping[UUID, str] = field(default_factory=dict)

    @property
    def loads(self) -> list[Load]:
        """Return the loads of the day: under way or done ones, then planned ones."""
        return [*self.facts.fixed_loads, *self.planned]

    @cached_property
    def begins_at(self) -> dict[str, datetime]:
        """Return when the plan begins each piece of work: no earlier than its lawn may be mown."""
        opens_s = {job.id: job.window_s[0] for job in self.built.problem.jobs}
        return {
            stop.job: self.facts.span.at_second(max(stop.arrive_s, opens_s[stop.job]))
            for vehicle in self.plan.vehicles
            for stop in vehicle.stops
            if stop.job is not None
        }

    def mowing_begins(self) -> dict[UUID, datetime]:
        """Return when the plan begins each job that is still to be mown."""
        jobs, found = self.facts.known_jobs, dict[UUID, datetime]()
        for name, at in self.begins_at.items():
            job_id = self.built.pieces[name].job_id
            if jobs[job_id].state is JobState.PLANNED:
                found[job_id] = min(at, found.get(job_id, at))
        return found

    def ready(self, load: Load) -> ReadyDestination | None:
        """Return the destination of a load, if the records still have it."""
        return self.asked.by_id.get(load.destination_id)


def range_of(estimate: Estimate) -> dict[str, float]:
    """Return an estimate's three ends in whole ones.

    The high end is rounded up, as a plan counts it: a check and the plan say one number.
    """
    return {
        "low": round(estimate.low, 0),
        "likely": round(estimate.likely, 0),
        "high": float(kg_at_most(estimate.high)),
    }


def named(ready: ReadyDestination) -> dict[str, Any]:
    """Return the members by which a told record names a destination."""
    return {"destination_kind": ready.kind, "destination_id": ready.id, "name": ready.name}
