"""Why a load goes where it goes: price, room, runner-up, refusals, and what would change it."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field

import numpy as np

from service.planning.arrays.inputs import ACCEPT, DEST
from service.planning.arrays.tables import HOLD, UNITS_PER_CENT, Tables, Whole
from service.planning.explain.counterfactuals import Question, hints_for
from service.planning.explain.one_vehicle import Again, labels_allowed
from service.planning.explain.tip_moments import Moment, codes_of, moments_of
from service.planning.model.problem import Destination
from service.planning.model.result import Barrier, Plan, PlanStop, RunnerUp, Unplaced
from service.planning.outcome.assembly import cents
from service.planning.search.construction import Fleet, take, with_overflow
from service.planning.tip_plans.columns import Column, Tips
from service.planning.tip_plans.shortlists import NOWHERE, Shortlist

MOST_PLACED = 20  # vehicles whose material is left that are told what to place it would cost
BARRIERS = 12  # destinations named for a load, at most
RUNNER_BEAM = 40  # labels looked at after a job
# Common practice, no source: nobody weighs up what costs so much more than the plan.
MOST_EXTRA_CENTS = 5_000


def explained(
    tables: Tables,
    fleet: Fleet,
    columns: list[Column],
    plan: Plan,
    *,
    hints: bool = True,
    about: frozenset[str] | None = None,
    labels: int | None = None,
) -> Plan:
    """Return the plan with reason, runner-up, refusals and hints for every tip still to come.

    The runner-up is what the vehicle would do if this destination were closed to it at this point
    of its day, all other vehicles staying as they are. A hint is what would change the answer; to
    find them takes three times as long as all the rest, so nobody need ask for them. With ids of
    vehicles in ``about``, only those are looked at; ``labels`` limit the search for runners-up.
    """
    numbers = frozenset(
        number
        for number, vehicle in enumerate(tables.problem.vehicles)
        if about is None or vehicle.id in about
    )
    questions, told = _told(tables, fleet, columns, plan, about=numbers, labels=labels)
    if hints:
        found = hints_for(fleet, columns, questions, about=numbers)
        told = [
            dataclasses.replace(item, hints=some) for item, some in zip(told, found, strict=True)
        ]
    tips = iter([item for item in told if isinstance(item, PlanStop)])
    vehicles = tuple(
        dataclasses.replace(
            answer, stops=tuple(next(tips) if _is_ahead(stop) else stop for stop in answer.stops)
        )
        for answer in plan.vehicles
    )
    unplaced = tuple(item for item in told if isinstance(item, Unplaced))
    return dataclasses.replace(plan, vehicles=vehicles, unplaced=unplaced)


def _is_ahead(stop: PlanStop) -> bool:
    """Tell whether a stop is a tip still to come."""
    return stop.destination is not None and not stop.done


def _told(
    tables: Tables,
    fleet: Fleet,
    columns: list[Column],
    plan: Plan,
    *,
    about: frozenset[int],
    labels: int | None,
) -> tuple[list[Question], list[PlanStop | Unplaced]]:
    """Return every tip and unplaced part with its reasons, and what is to be asked of each."""
    room = tables.destinations.capacity_kg.copy()
    for column in columns:
        take(room, column)
    asked = [(column, moment) for column in columns for moment in moments_of(tables, column)]
    runners = _runners_up(tables, fleet, asked, room, about=about, labels=labels)
    prices = {use.id: use.price_cents_per_t for use in plan.destinations}
    told: list[PlanStop | Unplaced] = []
    placing: dict[int, str] = {}
    left = iter(plan.unplaced)
    ahead = iter([stop for answer in plan.vehicles for stop in answer.stops if _is_ahead(stop)])
    for (column, moment), runner in zip(asked, runners, strict=True):
        if column.vehicle not in about:
            told.append(next(left) if moment.number == NOWHERE else next(ahead))
            continue
        if moment.number == NOWHERE:
            if column.vehicle not in placing and len(placing) < MOST_PLACED:
                placing[column.vehicle] = _placed_instead(fleet, column, _own_room(room, column))
            also = placing.get(column.vehicle)
            reasons = (*([] if also is None else [also]), *_unplaced_reasons(tables, moment))
            told.append(dataclasses.replace(next(left), reasons=reasons))
            continue
        destination = tables.problem.destinations[moment.number]
        price, left_kg = prices[destination.id], int(room[moment.number])
        if destination.kind == HOLD:
            barriers = _barriers(tables, column.vehicle, moment, _own_room(room, column))
        else:
            barriers = _refusals(tables, fleet.lists[column.vehicle], moment)
        told.append(
            dataclasses.replace(
                next(ahead),
                runner_up=runner,
                barriers=barriers,
                reason=_sentence(destination, runner, price, left_kg),
            )
        )
    questions = [
        Question(vehicle=column.vehicle, moment=moment, runner_up=runner)
        for (column, moment), runner in zip(asked, runners, strict=True)
    ]
    return questions, told


def _placed_instead(fleet: Fleet, column: Column, room: Whole) -> str:
    """Return what a vehicle's day would cost more if it left nothing, in a sentence."""
    placed = fleet.placing(column.vehicle, room)
    if placed is None:
        return "no day was found that places everything"
    tables = fleet.tables
    extra = with_overflow(tables, placed, room) - with_overflow(tables, column, room)
    return f"to place everything would cost {cents(extra)} more"


def _own_room(room: Whole, column: Column) -> Whole:
    """Return the room that the other vehicles leave this one."""
    own = room.copy()
    take(own, column, -1)
    return np.maximum(own, 0)


def _runners_up(
    tables: Tables,
    fleet: Fleet,
    asked: list[tuple[Column, Moment]],
    room: Whole,
    *,
    about: frozenset[int],
    labels: int | None,
) -> list[RunnerUp | None]:
    """Return the runner-up of every tip; None for what is left unplaced, or not looked for.

    Held loads come first, then the first tip of each vehicle, the second, and so on, until as many
    labels are looked at as a plan may cost.
    """
    every = tables.problem.destinations
    order: list[tuple[bool, int, int]] = []
    ranks: dict[int, int] = {}
    for place, (column, moment) in enumerate(asked):
        if moment.number != NOWHERE and column.vehicle in about:
            ranks[column.vehicle] = ranks.get(column.vehicle, 0) + 1
            order.append((every[moment.number].kind != HOLD, ranks[column.vehicle], place))
    asking: dict[int, _Asking] = {}
    left = labels_allowed(len(ranks)) if labels is None else labels
    found: list[RunnerUp | None] = [None] * len(asked)
    for *_, place in sorted(order):
        if left <= 0:
            break
        column, moment = asked[place]
        if column.vehicle not in asking:
            asking[column.vehicle] = _Asking.of(tables, column, _own_room(room, column))
        one = asking[column.vehicle]
        before = one.planner.labels
        listed = _without(fleet.lists[column.vehicle], moment.gap, moment.number)
        found[place] = one.runner_up(listed, moment)
        left -= one.planner.labels - before
    return found


@dataclass(slots=True, kw_only=True)
class _Asking:
    """A vehicle whose runners-up are looked for, and the other days found for it so far.

    A day that does without one tip often does without another, too: then no dearer one is looked
    for.
    """

    tables: Tables
    column: Column
    room: Whole
    planned: int  # what the vehicle's day in the plan costs [units]
    planner: Again
    days: list[tuple[int, Tips]] = field(default_factory=list)

    @classmethod
    def of(cls, tables: Tables, column: Column, room: Whole) -> _Asking:
        """Return the vehicle with this tip plan in the room that the others leave."""
        over_kg = sum(max(0, kg - int(room[d])) for d, kg in column.use().items())
        return cls(
            tables=tables,
            column=column,
            room=room,
            planned=column.cost + over_kg * tables.overflow,
            planner=Again(vehicle=tables.vehicles[column.vehicle], beam=RUNNER_BEAM),
        )

    def runner_up(self, listed: Shortlist, moment: Moment) -> RunnerUp:
        """Plan the vehicle again with a shortlist that lacks a destination in a gap."""
        shut = (moment.gap, moment.number)
        known = min(
            (day for day in self.days if shut not in {(g, d) for g, d, _ in day[1]}), default=None
        )
        most = self.planned + MOST_EXTRA_CENTS * UNITS_PER_CENT if known is None else known[0] - 1
        found = self.planner.best(self.tables, listed, room=self.room, cutoff=most) or known
        if found is None:
            return RunnerUp()
        cost, tips = found
        self.days.append(found)
        before = {d for _, d, _ in self.column.tips}
        named = [d for _, d, _ in tips if d not in before]
        named = named or [d for g, d, _ in tips if g >= moment.gap][:1]
        return RunnerUp(
            destinations=tuple(
                self.tables.problem.destinations[d].id for d in dict.fromkeys(named)
            ),
            extra_cents=max(0, cents(cost) - cents(self.planned)),
        )


def _without(listed: Shortlist, gap: int, number: int) -> Shortlist:
    near, offsets = listed.road.near.copy(), listed.road.offsets
    rows = slice(int(offsets[gap]), int(offsets[gap + 1]))
    near[rows, ACCEPT] = np.where(near[rows, DEST] == number, 0, near[rows, ACCEPT])
    return dataclasses.replace(listed, road=listed.road._replace(near=near))


def _sentence(
    destination: Destination, runner: RunnerUp | None, price_cents_per_t: int, room_kg: int
) -> str:
    parts = [f"fee {destination.fee_cents_per_t} per t, {max(0, room_kg)} kg of room left"]
    if price_cents_per_t:
        parts.append(f"scarce: another tonne of room would save {price_cents_per_t}")
    if runner is None:
        parts.append("next best not looked for")
    elif runner.extra_cents is None:
        parts.append(f"nothing else found for up to {MOST_EXTRA_CENTS} more")
    else:
        where = ", ".join(runner.destinations)
        parts.append(f"next best {where}, {runner.extra_cents} more")
    return "; ".join(parts)


def _barriers(tables: Tables, vehicle: int, moment: Moment, room: Whole) -> tuple[Barrier, ...]:
    """Return what stands against each other destination for a held load, nearest first.

    Those that would take it come first, then those without room, closed and unwilling ones.
    """
    here = tables.problem.destinations[moment.number]
    start = int(tables.vehicles[vehicle].points[moment.gap])
    least_kg = min(moment.kg, tables.problem.costs.minimum_tip_kg)
    leasts_kg = tables.vehicles[vehicle].leasts_kg(tables.destinations).tolist()
    order = {"dearer": 0, "no_room": 1, "closed": 2}
    found = []
    codes = codes_of(tables, moment)
    places = tables.destinations.place.tolist()
    for number, other in enumerate(tables.problem.destinations):
        if other.id == here.id or other.kind == here.kind:
            continue
        seconds, code = tables.map.way(start, places[number])[1], codes[number]
        if code is None and moment.kg < leasts_kg[number]:
            code = "too_little"
        if code is None and room[number] < max(least_kg, leasts_kg[number]):
            code = "no_room"
        if code is None and moment.clock_s + seconds > other.close_s:
            code = "closed"
        if code is None and other.too_late(moment.statuses, moment.clock_s + seconds):
            code = "too_late"
        barrier = Barrier(destination=other.id, code=code or "dearer")
        found.append((order.get(barrier.code, 3), seconds, number, barrier))
    return tuple(barrier for *_, barrier in sorted(found, key=lambda one: one[:3])[:BARRIERS])


def _refusals(tables: Tables, listed: Shortlist, moment: Moment) -> tuple[Barrier, ...]:
    """Return which of the destinations looked at here refuse the load, and their codes."""
    every, numbers = tables.problem.destinations, listed.in_gap(moment.gap).tolist()
    codes = codes_of(tables, moment, numbers)
    found = [
        Barrier(destination=every[number].id, code=code)
        for number, code in zip(numbers, codes, strict=True)
        if code is not None
    ]
    return tuple(found[:BARRIERS])


def _unplaced_reasons(tables: Tables, moment: Moment) -> tuple[str, ...]:
    reasons: dict[str, int] = {}
    for refusal in codes_of(tables, moment):
        code = refusal or "no_room_or_closed"
        reasons[code] = reasons.get(code, 0) + 1
    return tuple(f"{code}: {count} destinations" for code, count in sorted(reasons.items()))
