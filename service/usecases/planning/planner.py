"""Make the plan of a day from its facts: ask, build, solve or answer, check; nothing is stored."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from uuid import UUID

from service.core.jobs import Job, JobState
from service.destinations.lawn import LawnAdvice, lawn_advice
from service.planning.arrays.compiled import planning
from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.search.construction import LockNotPossible
from service.planning.solve import solve
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import COLLECTABLE, HELD
from service.usecases.base.ports.travel import Distances
from service.usecases.day.asking import ask_day
from service.usecases.day.bodies.vehicle_days import VehicleDay, too_large
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import kept_by
from service.usecases.day.held.parcels import HeldParcel, not_brought, not_taken, parcels_of
from service.usecases.day.planned_day import LocalAnswer
from service.usecases.day.problem.build import DayProblem, build_problem
from service.usecases.day.replanning.previous_plan import (
    plan_kept,
    previous_of,
    with_locked_amounts,
)
from service.usecases.day.replanning.takeover import days_taken_over
from service.usecases.day.told_routing import ToldDay
from service.usecases.planning.local_answer import local_answer

PLANNING_SEED = 0


class PlanFaulty(Exception):
    """The checker found a fault in a plan: a bug of the planner, never stored, never shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnstoredPlan:
    """A plan before it is stored, with what it was made from.

    ``local`` says which vehicles were planned again, if only some were. ``held_stays`` says of held
    entries why no vehicle brings them on, though somebody would take them.
    """

    asked: Asked
    advice: dict[UUID, LawnAdvice]
    built: DayProblem
    plan: Plan
    local: LocalAnswer | None = None
    held_stays: Mapping[UUID, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ready:
    """What a plan is made from. ``routed`` are the jobs that are planned at all."""

    asked: Asked
    advice: dict[UUID, LawnAdvice]
    routed: list[Job]
    days: Sequence[VehicleDay] | None
    parcels: Sequence[HeldParcel]
    built: DayProblem
    previous: Plan | None


@dataclass(frozen=True, kw_only=True, eq=False)
class DayPlanner:
    """Make a day's plan, judged by the checker before anybody sees it."""

    rulebook: Rulebook
    distances: Distances

    def __call__(
        self, facts: DayFacts, stop: StopRule, *, explain: bool = True, whole: bool = True
    ) -> UnstoredPlan:
        """Return the plan of the day and what it was made from.

        Parameters
        ----------
        explain
            Give reasons and runners-up; a plan that is only compared needs none.
        whole
            Search the whole day; without it, only those are planned again whom it concerns what
            happened since the last plan, if such an answer will do, see ``local_answer``.

        Raises
        ------
        PlanFaulty
            If the checker finds a fault: a bug.
        PlannerAwaited
            If the planner is still being compiled.
        """
        with planning():
            stays: dict[UUID, str] = {}
            while True:
                ready = self._ready(facts, without=stays)
                made = self._made(facts, ready, stop, explain=explain, whole=whole)
                more = not_brought(made.built, made.plan)
                if not more:
                    stays |= not_taken(ready.parcels, made.built)
                    return replace(made, held_stays=stays)
                stays |= more  # it stays in the bay: nobody shovels up what he cannot tip

    def _made(
        self, facts: DayFacts, ready: _Ready, stop: StopRule, *, explain: bool, whole: bool
    ) -> UnstoredPlan:
        asked, advice, built, previous = ready.asked, ready.advice, ready.built, ready.previous
        local = (
            None
            if whole
            else local_answer(
                facts,
                asked,
                built,
                previous,
                rulebook_version=self.rulebook.version,
                explain=explain,
                explain_labels=stop.explain_labels,
            )
        )
        if local is not None:
            return UnstoredPlan(
                asked=asked, advice=advice, built=built, plan=local.plan, local=local
            )
        unlocked: set[str] = set()
        while True:
            try:
                plan = self._solved(built, stop, previous, explain=explain)
                break
            except LockNotPossible as refusal:
                # It must cost neither the depot its routing nor other vehicles their locks.
                vehicle = str(refusal.facts["vehicle"])
                if vehicle in unlocked:
                    raise
                unlocked.add(vehicle)
                built = build_problem(
                    facts,
                    asked,
                    ready.routed,
                    rulebook=self.rulebook,
                    distances=self.distances,
                    without_locks=unlocked,
                    days=ready.days,
                )
                built = with_locked_amounts(built, previous)
        faults = check_plan(built.problem, plan, previous=previous)
        if faults:
            raise PlanFaulty("; ".join(str(fault) for fault in faults))
        return UnstoredPlan(asked=asked, advice=advice, built=built, plan=plan)

    def as_planned(
        self, facts: DayFacts, *, about: frozenset[UUID] | None = None
    ) -> UnstoredPlan | None:
        """Return the day as it was planned last, with what would change its answers.

        Parameters
        ----------
        facts
            Of the moment at which it was planned.
        about
            Jobs; only the vehicles that have any of them are looked at. All if left out.

        Returns
        -------
        UnstoredPlan or None
            None if there is no plan, or if it cannot be made out of the records again.

        Raises
        ------
        PlannerAwaited
        """
        told = ToldDay.of(facts.previous).takers()
        ready = self._ready(
            facts,
            without={
                grass.entry.id
                for grass in facts.held
                if ToldDay.held_name(grass.entry.id) not in told
            },
            could_be_asked=True,
        )
        if facts.previous is None:
            return None
        before = ready.previous or plan_kept(facts, ready.built)
        vehicles = None if about is None else ready.built.vehicles_with(about)
        with planning():
            try:
                day = LiveDay.of(ready.built.problem, before)
            except LockNotPossible:
                return None
            plan = day.explained(hints=True, about=vehicles)
        return UnstoredPlan(asked=ready.asked, advice=ready.advice, built=ready.built, plan=plan)

    def _ready(
        self, facts: DayFacts, *, without: Collection[UUID] = (), could_be_asked: bool = False
    ) -> _Ready:
        """Return everything that a plan of the day is made from; some held entries stay."""
        asked = ask_day(facts, rulebook=self.rulebook)
        advice = self._advice(facts, asked)
        routed = [
            job
            for job in facts.to_be_routed()
            if not (job.state is JobState.PLANNED and advice[job.id].better)
            and not too_large(facts, asked.lots[job.id], facts.vehicles[job.vehicle_id])
        ]
        build = partial(
            build_problem,
            facts,
            asked,
            routed,
            rulebook=self.rulebook,
            distances=self.distances,
            could_be_asked=could_be_asked,
        )
        built = build()
        parcels = parcels_of(facts, asked, rulebook=self.rulebook, without=without)
        days = days_taken_over(facts, asked, built, parcels)
        if days is not None:
            built = build(days=days)
        previous = previous_of(facts, built)
        return _Ready(
            asked=asked,
            advice=advice,
            routed=routed,
            days=days,
            parcels=parcels,
            built=with_locked_amounts(built, previous),
            previous=previous,
        )

    def _solved(
        self, built: DayProblem, stop: StopRule, previous: Plan | None, *, explain: bool
    ) -> Plan:
        return solve(
            built.problem,
            seed=PLANNING_SEED,
            stop=stop,
            previous=previous,
            explain=explain,
            hints=False,
        )

    def _advice(self, facts: DayFacts, asked: Asked) -> dict[UUID, LawnAdvice]:
        return {
            job.id: kept_by(
                lawn_advice(
                    job,
                    asked.lots[job.id],
                    asked.of(job.id, COLLECTABLE),
                    held=asked.of(job.id, HELD),
                    here=facts.rules(self.rulebook),
                ),
                job,
                facts.recalls,
            )
            for job in facts.to_be_routed()
            if job.state is JobState.PLANNED
        }
