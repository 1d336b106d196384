"""One vehicle's best day with one destination changed, all other vehicles staying as they are."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.inputs import ACCEPT, ASK, ASK_BIT, CLOSE, NEVER, NO_CAP
from service.planning.arrays.tables import (
    UNITS_PER_CENT,
    UNITS_PER_CENT_PER_T,
    Tables,
    VehicleTables,
    Whole,
)
from service.planning.explain.one_vehicle import Again
from service.planning.model.problem import Destination
from service.planning.search.construction import WORTH_CENTS_PER_KG, Fleet, take
from service.planning.search.lateness_prices import Market, root_of
from service.planning.tip_plans.columns import Column, Tips, leaving_price
from service.planning.tip_plans.shortlists import (
    NOWHERE,
    Shortlist,
    of_rows,
    shortlist,
    with_nowhere,
)

HINT_BEAM = 400  # labels looked at after a job
NEARBY = 8  # destinations looked at in a gap as if they had room and took anything


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that is different at one destination; what stays the same is None.

    ``takes`` are bits of this vehicle's lots, see ``VehicleTables.accepts``.
    """

    number: int
    close_s: int | None = None
    more_kg: int = 0
    fee_cents_per_t: int | None = None
    takes: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """A vehicle in the room that the others leave it.

    ``room_kg`` may be below nothing where the others overfill a destination. ``least`` is what the
    vehicle's best day costs as things are [units], and ``tips`` is such a day.
    """

    tables: Tables
    vehicle: VehicleTables
    listed: Shortlist
    room_kg: Whole
    least: int
    tips: Tips
    planner: Again

    @classmethod
    def of(cls, fleet: Fleet, column: Column, left_kg: Whole) -> Alone:
        """Return a vehicle of a plan alone; ``left_kg`` is the room the whole plan leaves."""
        tables, vehicle = fleet.tables, fleet.tables.vehicles[column.vehicle]
        listed = _wide(tables, vehicle, fleet.lists[column.vehicle])
        if any(number == NOWHERE for _, number, _ in column.tips):
            listed = with_nowhere(tables, listed, leaving_price(tables, vehicle))
        room_kg = left_kg.copy()
        take(room_kg, column, -1)
        over_kg = sum(max(0, kg - max(0, int(room_kg[d]))) for d, kg in column.use().items())
        alone = cls(
            tables=tables,
            vehicle=vehicle,
            listed=listed,
            room_kg=room_kg,
            least=column.cost + over_kg * tables.overflow,
            tips=column.tips,
            planner=Again(vehicle=vehicle, beam=HINT_BEAM, thorough=True),
        )
        found = alone.best(None, alone.least - 1)
        if found is None:
            return alone
        return dataclasses.replace(alone, least=found[0], tips=found[1])

    def best(self, change: Change | None, cutoff: int = NEVER) -> tuple[int, Tips] | None:
        """Return cost and tips of the vehicle's best day after a change, None above the cutoff.

        With a change the cutoff is below what the day costs now: so only a day that tips where it
        is made can be below it, and often it is known at once that none is.
        """
        tables, listed, room_kg = self.tables, self.listed, self.room_kg
        if change is not None:
            number = change.number
            rows = listed.who == number
            near = listed.road.near.copy()
            if change.close_s is not None:  # those closed at any time were shut for good
                near[rows, CLOSE], near[rows, ACCEPT] = change.close_s, self.vehicle.accepts[number]
            if change.takes is not None:
                near[rows, ACCEPT] = change.takes
            listed = dataclasses.replace(listed, road=listed.road._replace(near=near))
            if change.more_kg:
                room_kg = room_kg.copy()
                room_kg[number] += change.more_kg
            if change.fee_cents_per_t is not None:
                tables = _with_fee(tables, number, change.fee_cents_per_t)
        room_kg = np.maximum(room_kg, 0)
        if change is not None and self._in_vain(tables, listed, room_kg, change.number, cutoff):
            return None
        return self.planner.best(tables, listed, room=room_kg, cutoff=cutoff)

    def _in_vain(
        self, tables: Tables, listed: Shortlist, room_kg: Whole, number: int, cutoff: int
    ) -> bool:
        """Tell whether every day with a tip at a destination is known to cost more, unsolved."""
        if room_kg[number] < 1:  # what goes there overfills it, which this bound does not know
            return False
        near = listed.road.near.copy()
        rows = listed.who == number
        near[rows, ASK], near[rows, ASK_BIT] = 1, 0
        asked = dataclasses.replace(listed, road=listed.road._replace(near=near), asked=1)
        market = Market(prices=tables.destinations.fee, room=room_kg)
        return root_of(tables, self.vehicle, asked, market) > cutoff

    def rows(self, gap: int) -> Whole:
        """Return the candidates of a gap, a row each."""
        offsets = self.listed.road.offsets
        rows: Whole = self.listed.road.near[offsets[gap] : offsets[gap + 1]]
        return rows


def takes_with(
    tables: Tables,
    vehicle: VehicleTables,
    destination: Destination,
    *,
    statuses: tuple[str, ...],
    lots: frozenset[str],
) -> int:
    """Return the bits a destination would take if it took these statuses, and did not mind lots.

    Bits that some other lot shares which it would still refuse are left out.
    """
    whole = tables.problem.vehicles[vehicle.index]
    accepted = {*destination.accepts, *statuses}

    def welcome(status: str, lot: str | None) -> bool:
        if status not in accepted:
            return False
        refused = () if lot is None else tables.jobs[lot].refused_destinations
        return lot in lots or destination.id not in dict(refused)

    aboard = all(welcome(part.status, part.job) for part in whole.mixture)
    start = int(vehicle.start[3])
    good, bad = (start, 0) if aboard else (0, start)
    for row, name in zip(vehicle.jobs.tolist(), whole.jobs[vehicle.first_job :], strict=True):
        if welcome(tables.jobs[name].status, name):
            good |= row[2]
        else:
            bad |= row[2]
    return good & ~bad


def _wide(tables: Tables, vehicle: VehicleTables, listed: Shortlist) -> Shortlist:
    """Return the shortlist with what would be good if it had room, were open, took anything."""
    d = tables.destinations
    roomy = dataclasses.replace(
        tables,
        destinations=dataclasses.replace(
            d,
            capacity_kg=np.maximum(d.capacity_kg, int(vehicle.limits[0])),
            close_s=np.full_like(d.close_s, NO_CAP),
        ),
    )
    willing = dataclasses.replace(vehicle, accepts=np.full_like(vehicle.accepts, -1))
    worth = WORTH_CENTS_PER_KG * UNITS_PER_CENT
    near = shortlist(roomy, willing, d.fee, worth=worth, count=NEARBY)
    rows = [
        np.union1d(listed.in_gap(gap), near.in_gap(gap)) for gap in range(len(listed.road.legs))
    ]
    return of_rows(tables, vehicle, rows, listed.size)


def _with_fee(tables: Tables, number: int, fee_cents_per_t: int) -> Tables:
    """Return the tables with another fee at one destination; its fairness price stays."""
    fee = tables.destinations.fee.copy()
    burden = tables.problem.destinations[number].burden_cents_per_t
    fee[number] = (fee_cents_per_t + burden) * UNITS_PER_CENT_PER_T
    return dataclasses.replace(
        tables, destinations=dataclasses.replace(tables.destinations, fee=fee)
    )
