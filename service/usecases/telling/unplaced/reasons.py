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
    """Return the lots of the job after which the part is left, or else of what is aboard."""
    pieces = (
        made.built.vehicles[part.vehicle].on_it
        if part.after_job is None
        else (made.built.pieces[part.after_job],)
    )
    return {job_id for piece in pieces for job_id, _ in piece.shares}


def _code(made: PlannedDay, ready: ReadyDestination, lots: set[UUID]) -> str:
    position = made.asked.position[ready.id]
    said = (made.asked.verdicts[job_id][position] for job_id in sorted(lots))
    return next((verdict.code for verdict in said if verdict.refused), WOULD_TAKE_IT)
