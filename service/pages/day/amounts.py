"""How much a decision is about, of the plan that is shown: likely, since it is read in passing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from service.pages.day.waiting import Waiting
from service.usecases.telling.decisions.decision import Decision

Members = Mapping[str, Any]


class Amounts:
    """The likely masses [kg] of a day's heaps, loads and lots, and of what comes to a place."""

    def __init__(self, routing: Members, waiting: Iterable[Waiting]) -> None:
        """Take the day as it is told."""
        stops = [stop for vehicle in routing["vehicles"] for stop in vehicle["stops"]]
        self._drops = [stop for stop in stops if stop["kind"] == "drop"]
        self._heaps = {
            row.entry.id: float(row.mass_kg["likely"])
            for row in waiting
            if row.entry is not None and row.mass_kg is not None
        }
        self._lots = {
            lot["lot_code"]: float(lot["mass_kg"]["likely"])
            for lot in routing["lots"]
            if lot["mass_kg"] is not None
        }

    def of_kg(self, each: Sequence[Decision]) -> float | None:
        """Return how much the decisions of one matter are about; None where that is no mass."""
        heap_ids = {one.hold_entry_id for one in each if one.hold_entry_id is not None}
        if heap_ids:
            return _sum(self._heaps.get(heap_id) for heap_id in heap_ids)
        load_ids = {str(one.load_id) for one in each if one.load_id is not None}
        if load_ids:
            return _sum(_kg(drop) for drop in self._drops if drop["load_id"] in load_ids)
        places = {one.destination_id for one in each if one.destination_id is not None}
        if places and any(one.lot_codes for one in each):
            return _sum(
                _kg(drop)
                for drop in self._drops
                if not drop["done"] and UUID(drop["destination_id"]) in places
            )
        codes = {code for one in each for code in one.lot_codes}
        return _sum(self._lots.get(code) for code in codes)


def _kg(drop: Members) -> float:
    return float(drop["mass_kg"]["likely"])


def _sum(masses_kg: Iterable[float | None]) -> float | None:
    found = [mass for mass in masses_kg if mass is not None]
    return sum(found) if found else None
