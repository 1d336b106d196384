"""The warning that a load was not taken, for as long as anything of it counts as aboard."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from service.core.loads import Load, LoadState
from service.documents.rendering.reader import refusal_words
from service.usecases.day.facts import DayFacts
from service.usecases.day.planned_day import PlannedDay

TURNED_AWAY: Final = frozenset({LoadState.REFUSED, LoadState.PARTLY_REFUSED})
ABOARD_AGAIN: Final = "It counts as aboard again; if it lies there, fetch it."
HELD_ABOARD_AGAIN: Final = (
    "It counts as aboard again, what came out of a bay as well: bring it where the plan says, or "
    "back to the bay, and record that."
)


def still_aboard(facts: DayFacts, load: Load) -> Sequence[str]:
    """Return the codes of the lots of a load that was not taken of which something is aboard."""
    jobs = {job.id: job for job in facts.jobs}
    out_of_bays = {job.id for grass in facts.loaded for job in grass.jobs}
    return [
        part.lot_code
        for part in load.parts
        if part.job_id in out_of_bays
        or (part.job_id in jobs and facts.share_left(jobs[part.job_id]) > 0)
    ]


def turned_away_words(name: str, load: Load) -> str:
    """Return that a place did not take a load, all or a part of it, and what was said of it."""
    is_all = load.state is LoadState.REFUSED
    took = "took none" if is_all else f"did not take {load.refused_share:.0%}"
    said = (refusal_words(load.refusal_reason) or "no reason said").rstrip(". ")
    return f"{name} {took} of this load: {said}."


def turned_away_warnings(made: PlannedDay) -> list[dict[str, object]]:
    """Return the loads of the day that were not taken, all or a part, at the gate or afterwards."""
    found: list[dict[str, object]] = []
    for load in made.facts.fixed_loads:
        if load.state not in TURNED_AWAY or not still_aboard(made.facts, load):
            continue
        ready = made.ready(load)
        name = ready.name if ready else "Its destination"
        meaning = HELD_ABOARD_AGAIN if load.is_held_grass else ABOARD_AGAIN
        found.append(
            {
                "vehicle_id": str(load.vehicle_id),
                "code": "turned_away",
                "load_id": str(load.id),
                "destination_kind": load.destination_kind.value,
                "destination_id": str(load.destination_id),
                "lot_codes": [part.lot_code for part in load.parts],
                "refused_share": load.refused_share,
                "why": f"{turned_away_words(name, load)} {meaning}",
            }
        )
    return found
