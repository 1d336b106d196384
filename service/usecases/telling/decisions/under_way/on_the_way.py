"""What waits for a word of loads that are under way to where they may not be tipped any more."""

from __future__ import annotations

from collections.abc import Iterator

from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.on_the_way import refused_on_the_way
from service.usecases.telling.decisions.decision import Decision, Urgency, Way, about_load
from service.usecases.telling.warnings.on_the_way import CODE, way_on


def refused_before_the_tip(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the loads whose crews are to be told where not to tip, before they are there."""
    for found in refused_on_the_way(facts, rulebook=rulebook):
        load = found.load
        codes = ", ".join(part.lot_code for part in load.parts)
        name = facts.vehicles[load.vehicle_id].registration
        yield Decision(
            code=CODE,
            urgency=Urgency.NOW,
            deadline=load.arrive_at,
            sentence=(
                f"{name} is on its way to {found.ready.name} with {codes} and must not tip there. "
                f"{found.verdict.sentence} {way_on(found)} Its screen says so: call the crew as "
                "well."
            ),
            **about_load(load),
            ways=(
                Way(
                    what="Take it back into the plan (planned): it is sent elsewhere",
                    method="PATCH",
                    href=f"/loads/{load.id}",
                ),
            ),
        )
