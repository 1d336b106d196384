"""What waits for a word of loads that are under way to where they may not be tipped any more."""

from __future__ import annotations

from collections.abc import Iterator

from service.destinations.verdicts import whole_kg
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.on_the_way import RefusedOnTheWay, refused_on_the_way
from service.usecases.telling.decisions.decision import Decision, Urgency, Way, about_load, at_load
from service.usecases.telling.warnings.on_the_way import code_of, way_on


def refused_before_the_tip(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the loads whose crews are to be told where not to tip, before they are there."""
    for found in refused_on_the_way(facts, rulebook=rulebook):
        load = found.load
        codes = ", ".join(part.lot_code for part in load.parts)
        name = facts.vehicles[load.vehicle_id].registration
        must = (
            f"there is room for {whole_kg(found.room_kg)} kg of it only"
            if found.room_kg
            else "must not tip there"
        )
        yield Decision(
            code=code_of(found),
            urgency=Urgency.NOW,
            deadline=load.arrive_at,
            sentence=(
                f"{name} is on its way to {found.ready.name} with {codes} and {must}. "
                f"{found.verdict.sentence} {way_on(found)} Its screen says so: call the crew as "
                "well."
            ),
            **about_load(load),
            ways=_ways(found),
        )


def _ways(found: RefusedOnTheWay) -> tuple[Way, ...]:
    """Return what can be done: no plan sends elsewhere what nobody takes."""
    if found.room_kg:
        return (Way(what="Say what was tipped of it, and what not", method="POST", href="/loads"),)
    if found.other is None:
        return at_load(found.load.id)
    return (
        Way(
            what="Take it back into the plan (planned): it is sent elsewhere",
            method="PATCH",
            href=f"/loads/{found.load.id}",
        ),
    )
