"""From chosen tip plans to the answer: arrivals, litres, costs, use, what is left unplaced."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.room import done_of, numbers_of, room_of
from service.planning.arrays.tables import UNITS_PER_CENT, Tables
from service.planning.model.result import CostCents, DestinationUse, Plan, Work
from service.planning.outcome.stops import Written, bare_day, cents, write_vehicle
from service.planning.tip_plans.columns import Column

__all__ = ["NO_SCOPE", "Bound", "bare_day", "cents", "write_answer"]

NO_SCOPE = "none"  # of a plan whose bound nobody sought
BOUND_FAULTY = "the bound lies above this plan, so it is false: a fault of the planner"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A lower bound in units, whether it is proven, and for which plans."""

    units: int
    proven: bool
    scope: str
    note: str = ""


def write_answer(
    tables: Tables,
    plan: list[Column],
    *,
    bound: Bound,
    prices: dict[int, int],
    work: Work,
) -> Plan:
    """Return the answer for a plan; it says no time, see `Plan.after`.

    Parameters
    ----------
    plan
        One column a vehicle, in order.
    prices
        Scarcity prices in units per kg, by destination number.
    """
    destinations = tables.problem.destinations
    done_kg = done_of(tables.problem, numbers_of(tables.problem))
    over_done_kg = int(np.maximum(done_kg - room_of(tables.problem), 0).sum())
    used = done_kg.tolist()
    for column in plan:
        for number, kg in column.use().items():
            used[number] += kg
    return _sum_up(
        tables,
        [write_vehicle(tables, column) for column in plan],
        uses=tuple(
            DestinationUse(
                id=d.id,
                used_kg=used[number],
                price_cents_per_t=round(prices.get(number, 0) * 1000 / UNITS_PER_CENT),
                room_kg=d.capacity_kg - used[number],
            )
            for number, d in enumerate(destinations)
        ),
        over_kg=sum(max(0, kg - d.capacity_kg) for kg, d in zip(used, destinations, strict=True)),
        bound=dataclasses.replace(bound, units=bound.units + over_done_kg * tables.overflow),
        work=work,
    )


def _sum_up(
    tables: Tables,
    written: Sequence[Written],
    *,
    uses: tuple[DestinationUse, ...],
    over_kg: int,
    bound: Bound,
    work: Work,
) -> Plan:
    """Return the answer for a day from the answers of its vehicles.

    Parameters
    ----------
    uses
        What each destination gets.
    over_kg
        Kilograms beyond the room of all destinations together.
    bound
        A bound of what is still to come; what the done stops cost is added here.
    """
    parts = {name: sum(w.parts[name] for w in written) for name in CostCents.__slots__}
    parts["overflow"] = over_kg * tables.overflow
    total = sum(parts.values())
    rounded = whole_cents(parts, total_cents=cents(total))
    unplaced = tuple(part for w in written for part in w.unplaced)
    bound_units = bound.units + sum(w.spent for w in written)
    note = bound.note
    bare = cents(sum(w.bare for w in written))
    least = cents(bound_units)
    if bound.scope == NO_SCOPE:
        # Nobody sought one. What the same job lists cost without any tip is no pretence, and the
        # gap then says that nothing is known of the disposal.
        least = bare
    if bound.proven and bound_units > total:  # a bug; nobody is to be told a false proof
        bound, note = dataclasses.replace(bound, proven=False), BOUND_FAULTY
    if not bound.proven and bound_units > total:  # of other plans: it says nothing of this one
        least = bare
    return Plan(
        problem=tables.problem.name,
        status="unplaced" if unplaced else "overflow" if over_kg else "ok",
        cost_cents=CostCents(**(rounded | {"total": cents(total)})),
        disposal_cents=cents(total) - bare,
        bound_cents=min(least, cents(total)),
        bound_proven=bound.proven,
        bound_scope=bound.scope,
        bound_note=note,
        vehicles=tuple(w.plan for w in written),
        destinations=uses,
        unplaced=unplaced,
        work=work,
        seconds=0.0,
    )


def whole_cents(parts: Mapping[str, int], *, total_cents: int) -> dict[str, int]:
    """Return parts in whole cents that add up to the total: the largest remainders go up."""
    found = {name: units // UNITS_PER_CENT for name, units in parts.items()}
    largest = sorted(parts, key=lambda name: -(parts[name] % UNITS_PER_CENT))
    for name in largest[: total_cents - sum(found.values())]:
        found[name] += 1
    return found
