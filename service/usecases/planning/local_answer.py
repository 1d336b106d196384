"""Answer what happened on a planned day: plan those it concerns, leave everybody else.

It takes milliseconds where a search of the whole day takes seconds, and nobody is sent elsewhere
because of what others do. It has no bound, so the routing says that it is such an answer.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from uuid import UUID

from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.result import Plan
from service.planning.search.construction import LockNotPossible
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.planned_day import LocalAnswer
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.problem.locks import lock_refusals
from service.usecases.day.replanning.changes import changes_since
from service.usecases.day.told_routing import ToldDay

# A count, never the clock, so that the same day is answered in the same way everywhere. Measured on
# invented days where destinations are scarce: a search takes 0.03 s for one vehicle and 0.2 s for
# two (medians), but 0.4 to 3.4 s for three to ten; with one or two there is hardly anybody to be
# left in peace, and a local answer was up to 16 % of the disposal cost dearer, with more up to 5 %.
SMALL_DAY_VEHICLES = 2
WHY = "the day has changed"


def local_answer(
    facts: DayFacts,
    asked: Asked,
    built: DayProblem,
    previous: Plan | None,
    *,
    rulebook_version: str,
    explain: bool,
    explain_labels: int | None = None,
) -> LocalAnswer | None:
    """Return the answer to what happened since the last plan; None to have the day searched.

    The whole day is searched

    * if it has no plan, or one by another rulebook, or one that keeps no versions of records;
    * if the depot's own record, its hours or its wishes, changed: that concerns everybody;
    * if more than half of the vehicles have lots that weigh or are otherwise, as after rain;
    * if more than half of the vehicles would get other tips;
    * if more material than before would be left without a place or a vehicle, or a destination
      overfull, or a lock broken: a search may still find a way;
    * if a lock was lost, or a place chosen by hand, that could be kept by now;
    * if it has few vehicles, see ``SMALL_DAY_VEHICLES``;
    * if the checker finds a fault: a bug, which is logged, but the dispatcher still gets a plan.

    Parameters
    ----------
    previous
        What still holds of the last plan, see ``previous_of``.
    """
    plan, vehicles = facts.previous, len(built.vehicles)
    if (
        plan is None
        or previous is None
        or vehicles <= SMALL_DAY_VEHICLES
        or plan.rulebook_version != rulebook_version
        or plan.record_versions is None
        or any(not lock_refusals(load, asked) for load in facts.lost_locks)
        or plan.record_versions.get(str(facts.depot.id)) != facts.depot.version
    ):
        return None
    changes = changes_since(plan, previous, facts, asked, built)
    if 2 * changes.other_lots > vehicles:
        return None
    try:
        day = LiveDay.of(
            built.problem, previous, why=WHY, causes=changes.causes, offers=changes.offers
        )
    except LockNotPossible:
        return None
    told = ToldDay.of(plan)
    left_kg = sum(piece.mass_kg for day in built.vehicles.values() for piece in day.left)
    if (
        2 * len(day.moved) > vehicles
        or sum(part.mass_kg for part in day.plan.unplaced) + left_kg > told.unplaced_kg
        or any(use.room_kg < 0 for use in day.plan.destinations)
    ):
        return None
    answer = day.explained(hints=False, labels=explain_labels) if explain else day.plan
    faults = check_plan(built.problem, answer, previous=previous)
    if faults:
        said = "; ".join(str(fault) for fault in faults)
        logging.getLogger("service.usecases").error("local answer faulty: %s", said)
        return None
    return LocalAnswer(
        plan=answer,
        causes=_causes_of(day, facts, built, changes.amended),
        in_a_row=told.local_answers + 1,
    )


def _causes_of(
    day: LiveDay, facts: DayFacts, built: DayProblem, amended: Mapping[UUID, str]
) -> dict[str, str]:
    """Return why vehicles were planned again, naming places of their loads that are otherwise."""
    causes = {}
    for number, why in sorted(day.causes.items()):
        key = built.problem.vehicles[number].id
        names = {
            amended[load.destination_id]
            for load in facts.planned_loads
            if load.vehicle_id == built.vehicles[key].vehicle_id and load.destination_id in amended
        }
        about = f"; amended: {', '.join(sorted(names))}" if names else ""
        causes[key] = f"{why}{about}"
    return causes
