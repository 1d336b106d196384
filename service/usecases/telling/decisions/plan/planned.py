"""What a kept plan says that waits for a word, as far as the records of now still bear it out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.loads import LoadState
from service.core.places import DestinationKind
from service.core.plans import DayPlan
from service.usecases.day.facts import DayFacts
from service.usecases.day.replanning.outages import OUT
from service.usecases.day.told_routing import LOAD_STANDS
from service.usecases.telling.decisions.decision import (
    TIP,
    Decision,
    Urgency,
    Way,
    at_load,
    size_is_so,
)
from service.usecases.telling.decisions.plan.locks import lost_lock
from service.usecases.telling.decisions.plan.mixed import held_with_worse
from service.usecases.telling.decisions.plan.refused import refused_words
from service.usecases.telling.told.lots import LEAVE
from service.usecases.telling.unplaced.left_material import NEVER_ASKED
from service.usecases.telling.warnings.locks import CODE as LOST_LOCK
from service.usecases.telling.warnings.overtime import AFTER_SHIFT, THEN

Members = Mapping[str, Any]

OVERLOADED: Final = "vehicle_may_be_overloaded"
TOO_LARGE: Final = "lot_too_large"
URGENT: Final[Mapping[str, Urgency]] = {
    "job_exceeds_vehicle": Urgency.NOW,
    "load_stands": Urgency.NOW,
    TOO_LARGE: Urgency.NOW,
    "nobody_takes_over": Urgency.NOW,
    "people_not_back_yet": Urgency.NOW,
    "recalled_aboard": Urgency.NOW,
    OVERLOADED: Urgency.NOW,
    "vehicle_out": Urgency.NOW,
    "held_hot": Urgency.NOW,
}
CHOOSE: Final = Way(
    what="Choose a place for a tip on the way", method="POST", href="/place-choices"
)
BACK: Final = Way(what="Say when it is back", method="GET", href="/vehicle-outages")
GIVE: Final = Way(what="Say which vehicle it was given to", method="POST", href="/reports")
BY_CODE: Final[Mapping[str, tuple[Way, ...]]] = {
    "load_stands": (GIVE, TIP, BACK),
    "long_after_shift": (CHOOSE,),
    "recalled_aboard": (
        TIP,
        Way(what="Read what is recalled, and why", method="GET", href="/recalls"),
    ),
    OVERLOADED: (TIP, GIVE, CHOOSE),
    "vehicle_may_overflow": (CHOOSE,),
    "vehicle_out": (BACK,),
}
# Told from the records, whatever the plan was made of.
BY_RECORDS: Final = frozenset(
    {
        "aboard_overnight",
        "bay_over_volume",
        "do_not_tip",
        "do_not_tip_all",
        "over_limit",
        "recall",  # of a plan that was kept before the records told it
        "ticket_awaits_review",
        "ticket_given_before",
        "ticket_may_be_in_pounds",
        "tipped_where_refused",
        "turned_away",
        "vehicle_was_overloaded",
    }
)


def decisions_of_plan(plan: DayPlan, facts: DayFacts) -> Iterator[Decision]:
    """Yield what a plan leaves open."""
    routing: Any = plan.routing
    changes = Way(
        what="Ask what would change it",
        method="GET",
        href=f"/days/{plan.day}/routing?depot_id={plan.depot_id}&what_would_change=true",
    )
    for part in routing["unplaced"]:
        vehicle_id = UUID(part["vehicle_id"])
        vehicle = facts.vehicles.get(vehicle_id)
        own = f"{part['mass_high_kg']:.0f} kg"
        own += "" if vehicle is None else f" in {vehicle.registration}"
        yield Decision(
            code="unplaced",
            urgency=Urgency.NOW,
            sentence=f"{own} find no place: {refused_words(part['reasons'])}.",
            own=own,
            vehicle_id=vehicle_id,
            ways=(changes, TIP),
        )
    yield from _without_a_place(routing, facts, changes)
    said = {need["sentence"] for lot in routing["lots"] if (need := lot.get("needs_attention"))}
    for one in _warnings(routing, facts):
        if one.sentence not in said:  # of a lot it is told with its lawn
            yield one
    yield from held_with_worse(plan, facts)


def _without_a_place(routing: Members, facts: DayFacts, changes: Way) -> Iterator[Decision]:
    """Yield what is the matter with lots: once, however many it is the matter with."""
    matters: dict[tuple[str, str], list[Members]] = {}
    for lot in routing["lots"]:
        need = lot.get("needs_attention")
        if need is not None:
            about = (need.get("code") or "needs_attention", need["sentence"])
            matters.setdefault(about, []).append(lot)
    for (code, sentence), lots in matters.items():
        # Of what is left on its lawn nobody was asked.
        told = [lot["elsewhere"] for lot in lots if lot["elsewhere"] is not None]
        is_unasked = any(NEVER_ASKED in said["refused_by_code"] for said in told)
        asked = tuple(
            Way(
                what=f"Ask {site.name} whether it takes grass that has turned; keep its word",
                method="PATCH",
                href=f"/compost-sites/{site.id}",
            )
            for site in facts.sites
            if is_unasked and site.takes_sour is None
        )
        codes = tuple(lot["lot_code"] for lot in lots)
        act = "Give {} to another vehicle, or move it" if code == OUT else "Amend the job of {}"
        amends = tuple(
            Way(what=act.format(lot["lot_code"]), method="PATCH", href=f"/jobs/{lot['job_id']}")
            for lot in lots
        )
        yield Decision(
            code=code,
            urgency=Urgency.NOW,
            sentence=f"{sentence} That is of {', '.join(codes)}." if code == LEAVE else sentence,
            lot_codes=codes,
            job_id=UUID(lots[0]["job_id"]) if len(lots) == 1 else None,
            vehicle_id=_id(lots[0].get("vehicle_id")),
            ways=(*asked, *amends) if code == OUT else (*asked, changes, *amends),
        )


def _warnings(routing: Members, facts: DayFacts) -> Iterator[Decision]:
    loads = {str(load.id): load for load in facts.loads}
    lost = {str(load.id): load for load in facts.lost_locks}
    heavy = [one for one in routing["warnings"] if one["code"] == OVERLOADED]
    too_large = {one["job_id"] for one in routing["warnings"] if one["code"] == TOO_LARGE}
    told_otherwise = [one for one in heavy if one.get("doubted_job_id") in too_large]
    told_otherwise += [
        one
        for one in routing["warnings"]
        if one["code"] == "vehicle_may_overflow"
        and one["vehicle_id"] in {other["vehicle_id"] for other in heavy}
    ]
    for warning in routing["warnings"]:
        code, load_id = warning["code"], warning.get("load_id")
        if code == LOST_LOCK and load_id in lost:
            yield lost_lock(lost[load_id], facts, warning["why"])
        of_a_heap = code.startswith("held_")  # told by the clocks of now
        load = loads.get(str(load_id))
        is_gone = load_id is not None and (load is None or load.state is LoadState.SUPERSEDED)
        if code in BY_RECORDS or of_a_heap or is_gone or warning in told_otherwise:
            continue
        why = warning.get("why") or ""
        sentence = "; ".join(why) if isinstance(why, list) else str(why)
        kind = warning.get("destination_kind")
        about: dict[str, Any] = {
            name: _id(warning.get(name))
            for name in ("vehicle_id", "load_id", "job_id", "destination_id")
        }
        yield Decision(
            code=code,
            urgency=URGENT.get(code, Urgency.TODAY),
            sentence=sentence,
            own=sentence.partition(THEN)[0] if code == AFTER_SHIFT else None,
            lot_codes=tuple(warning.get("lot_codes", ())),
            destination_kind=None if kind is None else DestinationKind(kind),
            **about,
            deadline=_at(warning.get("look_by")),
            ways=_ways(warning),
        )


def _ways(warning: Members) -> tuple[Way, ...]:
    if warning["code"] == TOO_LARGE:
        href = f"/jobs/{warning['job_id']}"
        return (
            Way(what="Correct its area, height or measured mass", method="PATCH", href=href),
            *(() if warning.get("is_confirmed") else (size_is_so(warning["job_id"]),)),
            Way(what="It is so: give it to a larger vehicle", method="PATCH", href=href),
            Way(
                what="It is so: say of each load where it was tipped", method="POST", href="/loads"
            ),
        )
    if warning.get("doubted_job_id"):
        href = f"/jobs/{warning['doubted_job_id']}"
        right = Way(what="Correct area, height or measured mass", method="PATCH", href=href)
        return (right, *BY_CODE[OVERLOADED])
    if warning.get("job_id"):
        return (Way(what="Amend its job", method="PATCH", href=f"/jobs/{warning['job_id']}"),)
    if warning.get("load_id"):
        return at_load(warning["load_id"])
    jobs, idle = warning.get("job_ids", ()), warning.get("idle")
    if jobs:
        return tuple(
            Way(
                what=f"Give a job to {idle or 'another vehicle'}",
                method="PATCH",
                href=f"/jobs/{job_id}",
            )
            for job_id in jobs
        )
    ways = BY_CODE.get(warning["code"], ())
    if idle and warning["code"] == LOAD_STANDS and warning.get("fetched_at") is None:
        given = replace(GIVE, what=f"Say that {idle} was given it")
        ways = (given, *(way for way in ways if way != GIVE))
    return ways


def _at(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def _id(text: object) -> UUID | None:
    return None if text is None else UUID(str(text))
