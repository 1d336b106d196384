"""Tell the mass book: what is at every place, where one lot is, and what moved on a day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from uuid import UUID

from service.core.callers.access import Caller
from service.core.mass_book import AMOUNTS, Amounts, MassBalance, MassMovement
from service.usecases.base.calendar import find_depot
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.mass_book.movements import balances_of

ENDS = ("low", "likely", "high")
GRAMS = 3  # digits of a kilogram that are told


class TellMassBook:
    """Read the sums of the mass book; nothing is worked out but what a day asks for."""

    def __init__(self, *, open_reading: OpenUnitOfWork) -> None:
        """Take the way to the book."""
        self._open = open_reading

    def __call__(
        self, caller: Caller, *, place_kind: str | None = None, lot_id: UUID | None = None
    ) -> dict[str, object]:
        """Return the sums at every place, or at those of a kind; of one lot if it is named."""
        with self._open() as unit:
            if lot_id is None:
                rows = [
                    _told(kind, place_id, None, amounts)
                    for kind, place_id, amounts in unit.mass_balances.totals(
                        caller.firm_id, place_kind
                    )
                ]
            else:
                rows = [
                    _told(one.place_kind, one.place_id, one.lot_id, _amounts([one]))
                    for one in unit.mass_balances.of_lots(caller.firm_id, [lot_id])
                    if place_kind in {None, one.place_kind}
                ]
        return {"balances": rows}

    def day(self, caller: Caller, depot_id: UUID, day: date) -> dict[str, object]:
        """Return what a depot's day brought to every place, and took from it, by the book of now.

        Raises
        ------
        RecordMissing
        """
        with self._open() as unit:
            find_depot(unit, caller.firm_id, depot_id)
            entries = unit.mass_movements.all(caller.firm_id, depot_id=depot_id, day=day)
        return {
            "day": day.isoformat(),
            "depot_id": str(depot_id),
            "balances": told_balances(entries),
        }


def told_balances(entries: Iterable[MassMovement]) -> list[dict[str, object]]:
    """Return what some entries brought to every place and took from it, JSON-ready."""
    places: dict[tuple[str, UUID], list[MassBalance]] = defaultdict(list)
    for balance in balances_of(entries):
        places[balance.place_kind, balance.place_id].append(balance)
    return [
        _told(kind, place_id, None, _amounts(found))
        for (kind, place_id), found in sorted(places.items())
    ]


def _amounts(balances: Iterable[MassBalance]) -> Amounts:
    found = list(balances)
    return Amounts(**{name: sum(getattr(one, name) for one in found) for name in AMOUNTS})


def _told(kind: str, place_id: UUID, lot_id: UUID | None, amounts: Amounts) -> dict[str, object]:
    return {
        "place_kind": kind,
        "place_id": str(place_id),
        "lot_id": None if lot_id is None else str(lot_id),
        "share": None if lot_id is None else round(amounts.share, 6),
        "mass_kg": {end: round(getattr(amounts, f"mass_{end}_kg"), GRAMS) for end in ENDS},
        "nitrogen_kg": {end: round(getattr(amounts, f"nitrogen_{end}_kg"), GRAMS) for end in ENDS},
        "counted_kg": round(amounts.counted_kg, GRAMS),
    }
