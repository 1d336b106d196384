"""Why material finds no place: what every destination on record says to it, counted by code."""

from __future__ import annotations

from collections import Counter
from uuid import UUID

from service.destinations.ready import ReadyDestination
from service.planning.model.result import Unplaced
from service.usecases.base.destination_kinds import KINDS, no_such_places
from service.usecases.day.planned_day import PlannedDay

NOTHING_ON_RECORD = f"no_destination: the firm has {no_such_places(KINDS)} on record"
WOULD_TAKE_IT = "no_room_or_closed"  # its room went to other lots, or it has closed by then


def reasons_of(made: PlannedDay, part: Unplaced) -> list[str]:
    """Return why no destination takes a part of a load, one a code, never none.

    Also those are counted that refuse every lot of the day: the planner never hears of them.
    """
    if not made.asked.destinations:
        return [NOTHING_ON_RECORD]
    lots = _lots_of(made, part)
    counts = Counter(_code(made, ready, lots) for ready in made.asked.destinations)
    return [
        f"{code}: {count} destination{'' if count == 1 else 's'}"
        for code, count in sorted(counts.items())
    ]


def _lots_of(made: PlannedDay, part: Unplaced) -> set[UUID]:
    """Return the lots in the body as the part is left: what was loaded since it was last empty."""
    pieces = list(made.built.vehicles[part.vehicle].on_it)
    aboard_kg = sum(piece.mass_kg for piece in pieces)
    way = next((one.stops for one in made.plan.vehicles if one.id == part.vehicle), ())
    for stop in way if part.after_job is not None else ():
        if stop.done:  # what came of it is on the vehicle, or gone
            continue
        if stop.job is not None and stop.job in made.built.pieces:
            pieces.append(made.built.pieces[stop.job])
            aboard_kg += pieces[-1].mass_kg
        elif stop.destination is not None:
            aboard_kg -= stop.mass_kg
            pieces = pieces if aboard_kg > 0 else []
        if stop.job == part.after_job:
            break
    return {job_id for piece in pieces for job_id, _ in piece.shares}


def _code(made: PlannedDay, ready: ReadyDestination, lots: set[UUID]) -> str:
    position = made.asked.position[ready.id]
    said = (made.asked.verdicts[job_id][position] for job_id in sorted(lots))
    return next((verdict.code for verdict in said if verdict.refused), WOULD_TAKE_IT)
