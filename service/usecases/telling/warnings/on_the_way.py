"""The warning to whoever is on the way to a place that does not take it any more."""

from __future__ import annotations

from collections.abc import Iterator

from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.on_the_way import RefusedOnTheWay, refused_on_the_way
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.places import Named

CODE = "do_not_tip"


def on_the_way_warnings(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[dict[str, object]]:
    """Yield the loads that are not to be tipped where they are going; each says where else."""
    for found in refused_on_the_way(facts, rulebook=rulebook):
        load, other = found.load, found.other
        yield {
            "vehicle_id": str(load.vehicle_id),
            "code": CODE,
            "load_id": str(load.id),
            "destination_kind": load.destination_kind.value,
            "destination_id": str(load.destination_id),
            "lot_codes": [part.lot_code for part in load.parts],
            "place": found.ready.name,
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
            "why": f"Do not tip at {found.ready.name}. {found.verdict.sentence} {way_on(found)}",
        }


def way_on(found: RefusedOnTheWay) -> str:
    """Return where a load may go instead, in a sentence."""
    if found.other is not None:
        return f"{found.other.name} takes it."
    return "No place on record takes all of it now: stand safely, and ask the office where to."
