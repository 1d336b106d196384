"""What moved between two routings of a day, lot by lot, and why."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final
from uuid import UUID

from service.core.places import DestinationKind
from service.usecases.base.destination_kinds import is_hold
from service.usecases.telling.changes.move_reasons import (
    Reason,
    Told,
    is_on_another,
    reason_of,
    shares_of,
)
from service.usecases.telling.told.lots import LEAVE, LEFT
from service.usecases.telling.told.moved import MovedTold, ShareTold, WaysTold

NEW: Final = ("lot_new", "The job is new.")
CANCELLED: Final = ("lot_gone", "The job was cancelled or moved to another day.")
NOWHERE: Final[Mapping[UUID, Reason]] = MappingProxyType({})


def lots_gone(before: Told, after: Told) -> list[UUID]:
    """Return the jobs that a routing before had and a later one has no more."""
    now = {lot["job_id"] for lot in after["lots"]}
    return [UUID(lot["job_id"]) for lot in before["lots"] if lot["job_id"] not in now]


def lots_that_moved(
    before: Told, after: Told, *, elsewhere: Mapping[UUID, Reason] = NOWHERE
) -> tuple[MovedTold, ...]:
    """Return the lots whose way changed, in the order of the later routing.

    Parameters
    ----------
    before, after
        Routings as `told_routing` tells them.
    elsewhere
        Of lots that the later one has no more, where they are, as far as that is known.
    """
    were = {lot["job_id"]: lot for lot in before["lots"]}
    moved = []
    for lot in after["lots"]:
        was = were.pop(lot["job_id"], None)
        if was is None:
            moved.append(_moved(None, lot, NEW))
        elif _ways(was) != _ways(lot) or is_on_another(was, lot) or _is_left(was, lot):
            moved.append(_moved(was, lot, reason_of(was, lot, before=before, after=after)))
    gone = (
        _moved(was, None, elsewhere.get(UUID(job_id), CANCELLED)) for job_id, was in were.items()
    )
    return (*moved, *gone)


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


def _moved(was: Told | None, lot: Told | None, reason: Reason) -> MovedTold:
    known = lot or was or {}
    return MovedTold(
        job_id=UUID(known["job_id"]),
        lot_code=known["lot_code"],
        was=_told_ways(was),
        becomes=_told_ways(lot),
        code=reason[0],
        why=reason[1],
    )


def _told_ways(lot: Told | None) -> WaysTold | None:
    if lot is None:
        return None
    carrier = lot.get("vehicle_id")
    return WaysTold(
        outcome=lot["outcome"],
        vehicle_id=None if carrier is None else UUID(carrier),
        goes_to=tuple(
            ShareTold(
                destination_kind=DestinationKind(way["destination_kind"]),
                destination_id=UUID(way["destination_id"]),
                name=way["name"],
                share=way["share"],
            )
            for way in lot["goes_to"]
        ),
    )
