"""The day after eleven, for who asks for a later hour: a vehicle breaks down, a bed says no."""

from __future__ import annotations

from datetime import datetime, time
from typing import Any, Final
from uuid import UUID

from service.core.loads import Load, LoadState
from service.core.places import DestinationKind
from service.core.plans import DayPlan
from service.demo.books import Books
from service.demo.morning import drive

BROKEN: Final = "Curlew"  # whose vehicle it is
REFUSES_AFTER: Final = time(11, 30)
BREAKS_AT: Final = time(15, 0)


def drive_until(books: Books, plan: DayPlan, until: datetime) -> tuple[DayPlan, list[str]]:
    """Let the day go on and answer what happens; return the last plan, and what happened."""
    told = []
    refused: Load | None = None
    if until > books.at(REFUSES_AFTER):
        drive(books, plan, books.at(REFUSES_AFTER))
        plan = _answered(books)
        refused = _refuse_next(books, plan, until)
        if refused is not None:
            plan = _answered(books)
    breaks_at = books.at(BREAKS_AT)
    if until >= breaks_at:
        drive(books, plan, breaks_at)
        told.append(_break_down(books, breaks_at))
        plan = _answered(books)
    drive(books, plan, until)
    plan = _answered(books)
    if refused is not None:
        told.insert(0, _sent_away(books, plan, refused))
    return plan, told


def _answered(books: Books) -> DayPlan:
    """Return the routing as whoever reads it now gets it."""
    return books.use_cases.read_routing(books.caller, books.depot.id, books.noon.date())


def _break_down(books: Books, at: datetime) -> str:
    vehicle = books.vehicles[BROKEN]
    books.use_cases.library.vehicle_outages.create(
        books.caller,
        {
            "vehicle_id": vehicle.id,
            "out_since": at,
            "reason": "The gearbox jams in reverse; it is towed in the evening.",
        },
    )
    return f"{vehicle.registration} broke down at {at:%H:%M}; others have its work."


def _sent_away(books: Books, plan: DayPlan, load: Load) -> str:
    """Return who sent a load away, when, and what has become of it."""
    beds = books.use_cases.library.beds
    at = (load.done_at or load.updated_at).astimezone(books.noon.tzinfo)
    aboard = {one["load_id"] for one in _routing(plan)["warnings"] if one["code"] == "turned_away"}
    since = "it is still aboard" if str(load.id) in aboard else "it was brought elsewhere since"
    name = beds.read(books.caller, load.destination_id).name
    return f"{name} sent a load away at {at:%H:%M}; {since}."


def _refuse_next(books: Books, plan: DayPlan, until: datetime) -> Load | None:
    """Let the client of the next bed that is reached send the load away; None if none is."""
    drops: list[dict[str, Any]] = [
        stop
        for vehicle in _routing(plan)["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop"
        and not stop["done"]
        and stop["destination_kind"] == DestinationKind.BED
    ]
    for stop in sorted(drops, key=lambda one: datetime.fromisoformat(one["at"])):
        at = datetime.fromisoformat(stop["at"])
        if at > until:
            break
        drive(books, plan, at)
        load = books.use_cases.papers.loads.read(books.caller, UUID(stop["load_id"]))
        if load.state is not LoadState.UNDER_WAY:
            continue  # its vehicle is late
        refused: Load = books.use_cases.update_load(
            books.caller,
            load.id,
            {
                "state": LoadState.REFUSED,
                "done_at": books.clock.now(),
                "refusal_reason": "The client wants no more on this bed today.",
            },
            expected_version=load.version,
        )
        return refused
    return None


def _routing(plan: DayPlan) -> Any:  # noqa: ANN401 - the routing is JSON
    return plan.routing
