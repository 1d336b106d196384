"""What moved between two routings of a day, lot by lot, and why."""

from __future__ import annotations

from service.usecases.base.destination_kinds import is_hold
from service.usecases.telling.move_reasons import Told, is_on_another, reason_of, shares_of
from service.usecases.telling.told.lots import LEAVE, LEFT

CANCELLED = ("lot_gone", "The job was cancelled or moved to another day.")


def lots_that_moved(before: Told, after: Told) -> list[dict[str, object]]:
    """Return the lots whose way changed, in the order of the later routing.

    Parameters
    ----------
    before, after
        Routings as `told_routing` tells them.
    """
    were = {lot["job_id"]: lot for lot in before["lots"]}
    moved = []
    for lot in after["lots"]:
        was = were.pop(lot["job_id"], None)
        if was is None:
            moved.append(_moved(None, lot, code="lot_new", why="The job is new."))
        elif _ways(was) != _ways(lot) or is_on_another(was, lot) or _is_left(was, lot):
            code, why = reason_of(was, lot, before=before, after=after)
            moved.append(_moved(was, lot, code=code, why=why))
    for was in were.values():
        code, why = CANCELLED
        moved.append(_moved(was, None, code=code, why=why))
    return moved


def held_kg(routing: Told) -> float:
    """Return the likely mass that goes to hold bays [kg]."""
    held = 0.0
    for vehicle in routing["vehicles"]:
        for stop in vehicle["stops"]:
            if stop["kind"] == "drop" and is_hold(stop["destination_kind"]):
                held += stop["mass_kg"]["likely"]
    return round(held, 1)


def _ways(lot: Told) -> tuple[str, list[tuple[str, float]]]:
    """Return what a crew would notice: the outcome, and where which share goes."""
    shares = shares_of(lot)
    outcome = LEAVE if lot["outcome"] in LEFT else lot["outcome"]
    return outcome, sorted((place, round(share, 2)) for place, share in shares.items())


def _is_left(was: Told, lot: Told) -> bool:
    """Tell whether nobody does now what somebody did."""
    return lot.get("needs_attention") is not None and was.get("needs_attention") is None


def _moved(was: Told | None, lot: Told | None, *, code: str, why: str) -> dict[str, object]:
    known = lot or was or {}
    return {
        "job_id": known["job_id"],
        "lot_code": known["lot_code"],
        "was": None if was is None else _told_ways(was),
        "becomes": None if lot is None else _told_ways(lot),
        "code": code,
        "why": why,
    }


def _told_ways(lot: Told) -> dict[str, object]:
    return {
        "outcome": lot["outcome"],
        "vehicle_id": lot.get("vehicle_id"),
        "goes_to": [
            {
                "destination_kind": way["destination_kind"],
                "destination_id": way["destination_id"],
                "name": way["name"],
                "share": way["share"],
            }
            for way in lot["goes_to"]
        ],
    }
