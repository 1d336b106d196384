"""What could be different at a destination, in whole steps: its hours, its room, its fee."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.planning.arrays.inputs import DEST, TIN
from service.planning.arrays.tables import UNITS_PER_CENT, UNITS_PER_CENT_PER_T
from service.planning.explain.destination_changes import Alone, Change
from service.planning.explain.tip_moments import Moment
from service.planning.tip_plans.columns import Tips, reached_at

# Common practice, no source: no gate is kept open longer for a load than this.
MOST_LATER_MIN = 240
LEAST_SAVING = UNITS_PER_CENT  # what saves less than a cent changes nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """One kind of change at one destination, in whole steps: minutes, kilograms or cents.

    If it is the ``same_day``, the best day found with some steps is the best one, and costs the
    same, with no more steps than it needs: a longer day or more room than it uses is of no use.
    """

    kind: str
    number: int
    most: int
    change: Callable[[int], Change]
    needs: Callable[[int, int, Tips], int]  # of steps, cost and tips of a day found with them
    amount: Callable[[int], int]
    same_day: bool = True


def levers_of(alone: Alone, moment: Moment, number: int) -> list[Lever]:
    """Return what could be different at a destination that takes the load, first things first."""
    close_s = int(alone.tables.destinations.close_s[number])
    way_s = next(int(row[TIN]) for row in alone.rows(moment.gap) if int(row[DEST]) == number)
    if moment.clock_s + way_s > close_s:
        return [_hours(alone, number)]
    levers = [_hours(alone, number)] if moment.arrive_s > close_s else []
    used_kg = sum(kg for _, used, kg in alone.tips if used == number)
    if int(alone.room_kg[number]) - used_kg < moment.load_kg:
        levers.append(_room(alone, number, moment.load_kg))
    if not used_kg:
        levers.append(_fee(alone, number))
    return levers


def _hours(alone: Alone, number: int) -> Lever:
    close_s = int(alone.tables.destinations.close_s[number])
    first_min = close_s // 60

    def needs(steps: int, cost: int, tips: Tips) -> int:
        del steps, cost
        times = reached_at(alone.tables, alone.vehicle, tips)
        last_s = max(
            (at for at, tip in zip(times, tips, strict=True) if tip[1] == number), default=0
        )
        return -(-last_s // 60) - first_min

    return Lever(
        kind="open_until_s",
        number=number,
        most=MOST_LATER_MIN,
        change=lambda steps: Change(number=number, close_s=(first_min + steps) * 60),
        needs=needs,
        amount=lambda steps: (first_min + steps) * 60,
    )


def _room(alone: Alone, number: int, load_kg: int) -> Lever:
    room_kg = int(alone.room_kg[number])

    def needs(steps: int, cost: int, tips: Tips) -> int:
        del steps, cost
        return sum(kg for _, other, kg in tips if other == number) - room_kg

    return Lever(
        kind="more_room_kg",
        number=number,
        most=load_kg - min(room_kg, 0),
        change=lambda steps: Change(number=number, more_kg=steps),
        needs=needs,
        amount=lambda steps: steps,
    )


def _fee(alone: Alone, number: int) -> Lever:
    """Return the lever of a fee at a place the vehicle's day does not use: steps are cents off."""
    fee = alone.tables.problem.destinations[number].fee_cents_per_t

    def needs(steps: int, cost: int, tips: Tips) -> int:
        used_kg = sum(kg for _, other, kg in tips if other == number)
        spare = alone.least - LEAST_SAVING - cost
        return steps - spare // max(1, used_kg * UNITS_PER_CENT_PER_T)

    return Lever(
        kind="fee_below_cents_per_t",
        number=number,
        most=fee,
        change=lambda steps: Change(number=number, fee_cents_per_t=fee - steps),
        needs=needs,
        amount=lambda steps: fee - steps + 1,
        same_day=False,
    )
