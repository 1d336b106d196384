"""What the newest plan does with one lawn's clippings, read back from what the plan told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.core.plans import DayPlan
from service.documents.rendering.told_words import told_sentence
from service.usecases.day.told_routing import makes_worse
from service.usecases.telling.in_language import ENGLISH
from service.usecases.telling.told.before_mowing import LotPlan, SaidTold, TipTold
from service.usecases.telling.told.lots import LEFT

Members = Mapping[str, Any]

MIXED: Final = "mixed_by_plan"
_OUT: Final = "vehicle_out"
_TOO_LARGE: Final = "lot_too_large"


def by_plan(plan: DayPlan | None, job_id: UUID | None, *, is_current: bool) -> LotPlan:
    """Return what a plan told of a job's clippings: in which body, where to, by when, or why not.

    Nothing is worked out again: whoever reads the day's routing reads the same.

    Parameters
    ----------
    job_id
        None where nobody planned the job that is asked about.
    is_current
        Whether the plan knows everything that is on record.
    """
    routing, lot = _lot_of(plan, job_id)
    stop_of, vehicle = _stop_of(routing, job_id)
    tips = () if lot is None else tuple(_tips(routing, lot))
    says: tuple[SaidTold, ...]
    if plan is None:
        says = (told("no_plan_yet"),)
    elif lot is None:
        says = (told("no_job_planned" if job_id is None else "not_in_the_plan"),)
    else:
        says = tuple(_says(routing, lot, vehicle, tips))
    return LotPlan(
        plan_id=None if plan is None else plan.id,
        revision=None if plan is None else plan.revision,
        is_current=is_current,
        outcome=None if lot is None else lot["outcome"],
        vehicle_id=None if vehicle is None else UUID(vehicle["vehicle_id"]),
        registration=None if vehicle is None else vehicle["registration"],
        mown_at=None if stop_of is None else _moment(stop_of["at"]),
        tips=tips,
        says=says,
    )


def not_for_this(kept: LotPlan, status: LotStatus) -> LotPlan:
    """Return what a plan told of a job, where it was made for other grass than is asked about.

    Where and when the other grass would be tipped is no answer, and so it is not told.
    """
    said = told("plan_not_for_this", status=status.value)
    return replace(kept, is_current=False, outcome=None, tips=(), says=(said,))


def status_by_plan(plan: DayPlan | None, job_id: UUID | None) -> LotStatus | None:
    """Return what a plan took a job's clippings for; None where it does not know of the job."""
    _, lot = _lot_of(plan, job_id)
    return None if lot is None else LotStatus(lot["status"])


def mown_by_plan(plan: DayPlan | None, job_id: UUID | None) -> datetime | None:
    """Return when a plan has a job's lawn mown; None where it does not know of the job."""
    stop, _ = _stop_of({} if plan is None else plan.routing, job_id)
    return None if stop is None else datetime.fromisoformat(stop["at"])


def told(code: str, **facts: object) -> SaidTold:
    """Return something that is told by its code and facts, with its English sentence."""
    sentence = told_sentence(code, facts, language_code=ENGLISH)
    return SaidTold(code=code, facts=facts, sentence=sentence or code)


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
    routing, lot = _lot_of(plan, job_id)
    ways = {way["load_id"] for way in lot["goes_to"]} if lot is not None else set()
    drops = (stop for stop in _stops(routing) if stop.get("load_id") in ways)
    return frozenset(code for stop in drops for code in stop["lot_codes"])


def _lot_of(plan: DayPlan | None, job_id: UUID | None) -> tuple[Any, Members | None]:
    """Return what a plan told, nothing of none, and of it what it told of a job's lot."""
    routing: Any = {} if plan is None else plan.routing
    lots = (lot for lot in routing.get("lots", ()) if lot["job_id"] == str(job_id))
    return routing, next(lots, None)


def _says(
    routing: Any,  # noqa: ANN401 - a routing as it is kept
    lot: Members,
    vehicle: Members | None,
    tips: Sequence[TipTold],
) -> Iterator[SaidTold]:
    """Yield what becomes of the lot: each tip, what stays on the lawn and why, or that none is."""
    registration = "" if vehicle is None else vehicle["registration"]
    for tip in tips:
        place, at_clock = tip.name or "?", f"{tip.at:%H:%M}"
        yield told("tipped_by_plan", vehicle=registration, place=place, at_clock=at_clock)
        way = next(one for one in lot["goes_to"] if one["load_id"] == str(tip.load_id))
        if worse := makes_worse(routing, lot, way):
            yield told(MIXED, lots=worse, status=way["load_status"])
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
            yield SaidTold(
                code=reason["code"],
                facts=reason.get("facts") or {},  # plans kept from before have none of some
                sentence=reason["sentence"],
            )
    elif not tips:
        is_large = any(
            warning["code"] == _TOO_LARGE and warning["job_id"] == lot["job_id"]
            for warning in routing["warnings"]
        )
        yield told("no_place_by_plan", because="too_large" if is_large else "unknown")


def _tips(routing: Any, lot: Members) -> Iterator[TipTold]:  # noqa: ANN401 - a routing as it is kept
    """Yield where the lot is tipped and when, in the order of the day."""
    drops = {stop["load_id"]: stop for stop in _stops(routing) if stop["kind"] == "drop"}
    tips = [
        TipTold(
            load_id=UUID(way["load_id"]),
            destination_kind=DestinationKind(way["destination_kind"]),
            destination_id=UUID(way["destination_id"]),
            name=way["name"],
            at=datetime.fromisoformat(stop["at"]),
            keeps_until=_moment(stop["keeps_until"]),
            share=way["share"],
        )
        for way in lot["goes_to"]
        if (stop := drops.get(way["load_id"])) is not None
    ]
    yield from sorted(tips, key=lambda tip: tip.at)


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


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
