"""What moved between two routings of a day, lot by lot, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

Told = Mapping[str, Any]


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
        elif _ways(was) != _ways(lot):
            code, why = _reason(was, lot, after)
            moved.append(_moved(was, lot, code=code, why=why))
    moved += [
        _moved(was, None, code="lot_gone", why="The job was cancelled or moved to another day.")
        for was in were.values()
    ]
    return moved


def held_kg(routing: Told) -> float:
    """Return the likely mass that goes to hold bays [kg]."""
    held = 0.0
    for vehicle in routing["vehicles"]:
        for stop in vehicle["stops"]:
            if stop["kind"] == "drop" and stop["destination_kind"] == "hold_bay":
                held += stop["mass_kg"]["likely"]
    return round(held, 1)


def _ways(lot: Told) -> tuple[str, list[tuple[str, float]]]:
    """Return what a crew would notice: the outcome, and where which share goes."""
    ways: dict[str, float] = {}
    for way in lot["goes_to"]:
        ways[way["destination_id"]] = ways.get(way["destination_id"], 0.0) + way["share"]
    return lot["outcome"], sorted((place, round(share, 2)) for place, share in ways.items())


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


def _reason(was: Told, lot: Told, after: Told) -> tuple[str, str]:
    """Return why a lot goes elsewhere: refused where it went, or no room, or cheaper so."""
    places = [way["destination_id"] for way in was["goes_to"]]
    for refusal in (lot["elsewhere"] or {}).get("nearest_refusals", ()):
        if refusal["destination_id"] in places:
            return refusal["code"], refusal["sentence"]
    rooms: Sequence[Told] = after["destinations"]
    listed = {room["destination_id"]: room for room in rooms}
    for way in was["goes_to"]:
        room = listed.get(way["destination_id"])
        if room is None:
            return "destination_takes_nothing", f"{way['name']} takes nothing of the day any more."
        if room["room_high_kg"] - room["planned_high_kg"] < 1:
            return "room_went_to_others", f"The room of {way['name']} went to other lots."
    return "cheaper_so", "With the day as it is now this way costs less, moving included."
