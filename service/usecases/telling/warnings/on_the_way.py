"""The warning to whoever is on the way to a place that does not take it any more."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor

from service.destinations.verdicts import whole_kg
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.on_the_way import RefusedOnTheWay, refused_on_the_way
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.places import Named

CODE = "do_not_tip"
NOT_ALL = "do_not_tip_all"


def on_the_way_warnings(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[dict[str, object]]:
    """Yield the loads that are not to be tipped, or not whole, where they go; each says where."""
    for found in refused_on_the_way(facts, rulebook=rulebook):
        load, other = found.load, found.other
        yield {
            "vehicle_id": str(load.vehicle_id),
            "code": code_of(found),
            "load_id": str(load.id),
            "destination_kind": load.destination_kind.value,
            "destination_id": str(load.destination_id),
            "lot_codes": [part.lot_code for part in load.parts],
            "place": found.ready.name,
            "room_kg": whole_kg(found.room_kg),
            "tipped_percent": floor(100.0 * found.share),
            "refusal": {
                "code": found.verdict.code,
                "sentence": found.verdict.sentence,
                "facts": plain(found.verdict.facts),
            },
            "other": None if other is None else other.name,
            "elsewhere": None
            if other is None
            else plain(
                Named(destination_kind=other.kind, destination_id=other.id, name=other.name)
            ),
            "why": (
                f"{what_not(found)[0].upper()}{what_not(found)[1:]} at {found.ready.name}. "
                f"{found.verdict.sentence} {way_on(found)}"
            ),
        }


def code_of(found: RefusedOnTheWay) -> str:
    """Return whether nothing of it is to be tipped there, or not all of it."""
    return NOT_ALL if found.room_kg else CODE


def what_not(found: RefusedOnTheWay) -> str:
    """Return in words what is not to be done there."""
    if not found.room_kg:
        return "do not tip"
    return (
        f"do not tip all of it: about {floor(100.0 * found.share)} %, "
        f"{whole_kg(found.room_kg)} kg, has room"
    )


def way_on(found: RefusedOnTheWay) -> str:
    """Return where a load, or the rest of it, may go instead, in a sentence."""
    what = "the rest" if found.room_kg else "it"
    if found.other is not None:
        return f"{found.other.name} takes {what}."
    whole = "the rest" if found.room_kg else "all of it"
    return f"No place on record takes {whole} now: stand safely, and ask the office where to."
