"""What the newest plan does with one lawn's clippings, read back from what the plan told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.materials import LotStatus
from service.core.plans import DayPlan
from service.usecases.base.languages import told_sentence
from service.usecases.day.told_routing import makes_worse
from service.usecases.telling.in_language import ENGLISH
from service.usecases.telling.told.lots import LEFT

Members = Mapping[str, Any]

_OUT: Final = "vehicle_out"
_TOO_LARGE: Final = "lot_too_large"


def by_plan(plan: DayPlan | None, job_id: UUID | None, *, is_current: bool) -> dict[str, Any]:
    """Return what a plan told of a job's clippings: in which body, where to, by when, or why not.

    Nothing is worked out again: whoever reads the day's routing reads the same.

    Parameters
    ----------
    job_id
        None where nobody planned the job that is asked about.
    is_current
        Whether the plan knows everything that is on record.
    """
    routing: Any = {} if plan is None else plan.routing
    lot = next((one for one in routing.get("lots", ()) if one["job_id"] == str(job_id)), None)
    stop_of, vehicle = _stop_of(routing, job_id)
    tips = [] if lot is None else list(_tips(routing, lot))
    if plan is None:
        says = [told("no_plan_yet")]
    elif lot is None:
        says = [told("no_job_planned" if job_id is None else "not_in_the_plan")]
    else:
        says = list(_says(routing, lot, vehicle, tips))
    return {
        "plan_id": None if plan is None else str(plan.id),
        "revision": None if plan is None else plan.revision,
        "is_current": is_current,
        "outcome": None if lot is None else lot["outcome"],
        "vehicle_id": None if vehicle is None else vehicle["vehicle_id"],
        "registration": None if vehicle is None else vehicle["registration"],
        "mown_at": None if stop_of is None else stop_of["at"],
        "tips": tips,
        "says": says,
    }


def not_for_this(kept: Mapping[str, Any], status: LotStatus) -> dict[str, Any]:
    """Return what a plan told of a job, where it was made for other grass than is asked about.

    Where and when the other grass would be tipped is no answer, and so it is not told.
    """
    said = told("plan_not_for_this", status=status.value)
    return {**kept, "is_current": False, "outcome": None, "tips": [], "says": [said]}


def status_by_plan(plan: DayPlan | None, job_id: UUID | None) -> LotStatus | None:
    """Return what a plan took a job's clippings for; None where it does not know of the job."""
    routing: Any = {} if plan is None else plan.routing
    lots = routing.get("lots", ())
    return next((LotStatus(lot["status"]) for lot in lots if lot["job_id"] == str(job_id)), None)


def mown_by_plan(plan: DayPlan | None, job_id: UUID | None) -> datetime | None:
    """Return when a plan has a job's lawn mown; None where it does not know of the job."""
    stop, _ = _stop_of({} if plan is None else plan.routing, job_id)
    return None if stop is None else datetime.fromisoformat(stop["at"])


def told(code: str, **facts: object) -> dict[str, Any]:
    """Return something that is told by its code and facts, with its English sentence."""
    sentence = told_sentence(code, facts, language_code=ENGLISH)
    return {"code": code, "facts": facts, "sentence": sentence or code}


def tipped_before(plan: DayPlan | None, job_id: UUID | None) -> frozenset[str]:
    """Return the codes of the lots that a plan has tipped, to the last, before it mows a lawn."""
    routing: Any = {} if plan is None else plan.routing
    stop, vehicle = _stop_of(routing, job_id)
    if stop is None or vehicle is None:
        return frozenset()
    stops = vehicle["stops"]
    here = stops.index(stop)
    before, after = (_codes(part) for part in (stops[:here], stops[here:]))
    stays = {
        code
        for warning in routing["warnings"]
        if warning.get("vehicle_id") == vehicle["vehicle_id"]
        for code in warning.get("lot_codes", ())
        if warning["code"].endswith("what_is_aboard")
    }
    return frozenset(before - after - stays)


def goes_with(plan: DayPlan | None, job_id: UUID | None) -> frozenset[str]:
    """Return the codes of the lots that a plan tips in one load with a job's."""
    routing: Any = {} if plan is None else plan.routing
    lot = next((one for one in routing.get("lots", ()) if one["job_id"] == str(job_id)), None)
    ways = {way["load_id"] for way in lot["goes_to"]} if lot is not None else set()
    drops = (stop for stop in _stops(routing) if stop.get("load_id") in ways)
    return frozenset(code for stop in drops for code in stop["lot_codes"])


def _says(
    routing: Any,  # noqa: ANN401 - a routing as it is kept
    lot: Members,
    vehicle: Members | None,
    tips: Sequence[Members],
) -> Iterator[dict[str, Any]]:
    """Yield what becomes of the lot: each tip, what stays on the lawn and why, or that none is."""
    registration = "" if vehicle is None else vehicle["registration"]
    for tip in tips:
        at = datetime.fromisoformat(tip["at"])
        place = tip["name"] or "?"
        yield told("tipped_by_plan", vehicle=registration, place=place, at_clock=f"{at:%H:%M}")
        way = next(one for one in lot["goes_to"] if one["load_id"] == tip["load_id"])
        if worse := makes_worse(routing, lot, way):
            yield told("mixed_by_plan", lots=worse, status=way["load_status"])
        if way.get("chosen_by_hand"):  # plans kept from before do not say
            against = way["against_advice"]
            yield told("chosen_against_advice" if against else "chosen_by_hand")
    need, advice = lot.get("needs_attention"), lot.get("advice")
    if need is not None and need["code"] == _OUT:
        yield told("no_place_by_plan", because="out")
    elif lot["outcome"] in LEFT or need is not None:
        if not tips:
            yield told("stays_by_plan")
        reason = need or advice
        if reason is not None:
            names = ("code", "facts", "sentence")
            yield {"facts": {}, **{name: reason[name] for name in names if name in reason}}
    elif not tips:
        is_large = any(
            warning["code"] == _TOO_LARGE and warning["job_id"] == lot["job_id"]
            for warning in routing["warnings"]
        )
        yield told("no_place_by_plan", because="too_large" if is_large else "unknown")


def _tips(routing: Any, lot: Members) -> Iterator[dict[str, Any]]:  # noqa: ANN401 - a routing as it is kept
    """Yield where the lot is tipped and when, in the order of the day."""
    drops = {stop["load_id"]: stop for stop in _stops(routing) if stop["kind"] == "drop"}
    ways = [(way, drops[way["load_id"]]) for way in lot["goes_to"] if way["load_id"] in drops]
    for way, stop in sorted(ways, key=lambda pair: datetime.fromisoformat(pair[1]["at"])):
        yield {
            "load_id": way["load_id"],
            "destination_kind": way["destination_kind"],
            "destination_id": way["destination_id"],
            "name": way["name"],
            "at": stop["at"],
            "keeps_until": stop["keeps_until"],
            "share": way["share"],
        }


def _stop_of(routing: Any, job_id: UUID | None) -> tuple[Members | None, Members | None]:  # noqa: ANN401 - a routing as it is kept
    """Return the stop at which a lawn is mown, and the vehicle whose stop that is."""
    for vehicle in routing.get("vehicles", ()):
        for stop in vehicle["stops"]:
            if stop["kind"] == "job" and stop["job_id"] == str(job_id):
                return stop, vehicle
    return None, None


def _stops(routing: Any) -> Iterator[Members]:  # noqa: ANN401 - a routing as it is kept
    for vehicle in routing.get("vehicles", ()):
        yield from vehicle["stops"]


def _codes(stops: Sequence[Members]) -> set[str]:
    return {code for stop in stops if stop["kind"] == "drop" for code in stop["lot_codes"]}
