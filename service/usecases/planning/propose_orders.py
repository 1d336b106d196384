"""Propose an order to crews that have jobs but none, and say the gain; nothing is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable
from service.core.jobs import JobState
from service.planning.arrays.compiled import planning
from service.planning.orders.budget import OrderWork
from service.planning.orders.choice import FoundOrder, orders_found
from service.planning.orders.proposal import without_the_dearer
from service.planning.outcome.figures import DayFigures, figures_of
from service.usecases.base.lots.lot_estimates import work_out
from service.usecases.base.lots.weigh_tickets import Tickets, read_tickets
from service.usecases.day.facts import DayFacts, in_order_of_day
from service.usecases.day.problem.order_freedoms import freedom_of, has_no_order, planned_times
from service.usecases.day.reading.read_day import read_day
from service.usecases.day.replanning.previous_plan import previous_of
from service.usecases.planning.dependencies import DayPlanning
from service.usecases.planning.planner import UnstoredPlan
from service.usecases.planning.proposed_orders import DayOnOrders, told_proposal
from service.usecases.planning.suppositions import strangers, told_unkept

TRIES = 2  # days planned until the orders taken together pay; each may take the planner's time


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Whose orders are asked for; by default those of all crews without one.

    The planned times of vehicles and crews that are named count for nothing.
    """

    vehicle_ids: tuple[UUID, ...] = ()
    crew_ids: tuple[UUID, ...] = ()


class ProposeOrders(DayPlanning):
    """Plan the day on proposed orders beside the day on the crews' own."""

    def __call__(
        self, caller: Caller, depot_id: UUID, day: date, wanted: Wanted
    ) -> dict[str, object]:
        """Return the orders proposed, the planned times that make them, and what they gain.

        The gain is found by planning the day as it would be with those planned times.

        Raises
        ------
        RecordMissing
            If there is no such depot.
        RecordNotUsable
            If a vehicle or a crew is named that is not part of the day.
        """
        with self.open_unit_of_work() as unit:
            facts = read_day(
                unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=self.clock.now()
            )
            tickets = read_tickets(unit, caller.firm_id, facts.jobs)
        faults = _faults(facts, wanted)
        if faults:
            raise RecordNotUsable(faults)
        facts = self._estimated_now(facts, tickets)
        own = self._planned(facts, explain=False)
        named = _named(facts, wanted)
        covered = {
            key: vehicle_day
            for key, vehicle_day in own.made.built.vehicles.items()
            # A list that is partly others' is the plan's own choice until somebody takes it up.
            if not vehicle_day.taken_over
            and not vehicle_day.brings_held
            and (
                vehicle_day.vehicle_id in named
                if named is not None
                else has_no_order(facts, vehicle_day)
            )
        }
        wholly = () if named is None else tuple(covered)
        work = OrderWork.of(len(covered), seconds=self._stop.seconds)
        with planning():
            found = orders_found(
                own.made.built.problem,
                own.made.plan,
                [freedom_of(facts, key, d, wholly=key in wholly) for key, d in covered.items()],
                previous=previous_of(facts, own.made.built),
                work=work,
            )
        proposed, taken = self._settled(own, found, wholly)
        return told_proposal(
            own,
            proposed,
            found=found,
            taken={order.vehicle for order in taken},
            work=work,
            routing=told_unkept(
                proposed.facts,
                proposed.made,
                identifiers=self.identifiers,
                rulebook=self.rulebook,
            )
            if taken
            else None,
        )

    def _settled(
        self, own: DayOnOrders, found: Sequence[FoundOrder], wholly: Sequence[str]
    ) -> tuple[DayOnOrders, tuple[FoundOrder, ...]]:
        """Return the day on those orders that pay together; the own day if none do."""
        taken = tuple(order for order in found if not order.reason)
        for _ in range(TRIES):
            if not taken:
                break
            times = planned_times(own.facts, own.made.built, taken, wholly=wholly)
            proposed = self._planned(_at_times(own.facts, times), explain=True)
            if proposed.made.plan.cost_cents.total < own.made.plan.cost_cents.total:
                return proposed, taken
            taken = without_the_dearer(taken, own.figures, proposed.figures)
        return own, ()

    def _planned(self, facts: DayFacts, *, explain: bool) -> DayOnOrders:
        made = self._make_day(facts, self._stop, explain=explain)
        return DayOnOrders(facts=facts, made=made, figures=_figures(facts, made))

    def _estimated_now(self, facts: DayFacts, tickets: Tickets) -> DayFacts:
        """Estimate planned jobs as amending them would, so that only the order makes a gain."""
        jobs = tuple(
            work_out(job, facts.lot_facts, tickets.of(job), rulebook=self.rulebook)
            if job.state is JobState.PLANNED
            else job
            for job in facts.jobs
        )
        return replace(facts, jobs=jobs)


def _figures(facts: DayFacts, made: UnstoredPlan) -> dict[str, DayFigures]:
    with planning():
        return figures_of(made.built.problem, made.plan, previous_of(facts, made.built))


def _at_times(facts: DayFacts, times: Mapping[UUID, datetime]) -> DayFacts:
    """Return the day with these jobs planned for these times."""
    jobs = (
        replace(job, planned_at=times[job.id]) if job.id in times else job for job in facts.jobs
    )
    return replace(facts, jobs=in_order_of_day(jobs))


def _named(facts: DayFacts, wanted: Wanted) -> set[UUID] | None:
    """Return the vehicles that are named, themselves or by a crew; None if nobody is."""
    if not (wanted.vehicle_ids or wanted.crew_ids):
        return None
    driven = {job.vehicle_id for job in facts.jobs if job.crew_id in wanted.crew_ids}
    return driven | set(wanted.vehicle_ids)


def _faults(facts: DayFacts, wanted: Wanted) -> list[FieldFault]:
    return strangers(
        ("/vehicle_ids/{}", wanted.vehicle_ids, facts.vehicles),
        ("/crew_ids/{}", wanted.crew_ids, facts.crews),
    )
