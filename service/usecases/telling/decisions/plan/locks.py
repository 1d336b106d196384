"""A lock that could not be kept: what is against it, what would keep it, and how to end it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from service.core.loads import Load
from service.core.places import DestinationKind
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way, about_load
from service.usecases.telling.warnings.locks import CODE

BOOKS: Final = {DestinationKind.BED: "beds", DestinationKind.COMPOST_SITE: "compost-sites"}


def lost_lock(load: Load, facts: DayFacts, why: Sequence[str]) -> Decision:
    """Return that a lock is told until it is kept again or somebody ends it."""
    places = facts.places[load.destination_kind]
    name = next((one.name for one in places if one.id == load.destination_id), None)
    vehicle = facts.vehicles.get(load.vehicle_id)
    return Decision(
        code=CODE,
        urgency=Urgency.TODAY,
        sentence=(
            f"{', '.join(part.lot_code for part in load.parts)} were locked to "
            f"{name or 'a place that is gone'} with "
            f"{'a vehicle' if vehicle is None else vehicle.registration}, and could not be: "
            f"{' '.join(why)} The lock stands and is kept as soon as it can be; end it if it is "
            "not wanted any more."
        ),
        **about_load(load),
        ways=(*_record(load, name), *_ends(load)),
    )


def _record(load: Load, name: str | None) -> Iterator[Way]:
    """Yield where what the place says is kept, which may keep the lock."""
    book = BOOKS.get(load.destination_kind)
    if book is not None and name is not None:
        href = f"/{book}/{load.destination_id}"
        yield Way(what=f"Keep what is said of {name}", method="PATCH", href=href)


def _ends(load: Load) -> Iterator[Way]:
    yield Way(what="End the lock (locked: false)", method="PATCH", href=f"/loads/{load.id}")
    yield Way(what="Choose another place", method="POST", href="/place-choices")
