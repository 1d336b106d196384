"""What is otherwise on a day than when it was planned: the vehicles and destinations concerned.

The facts are compared with the routing that was told, not with a list of events: what happened
between two readings comes as one answer, and nothing that counts can be forgotten on the way.
Whether tips are still legal is not judged here; the planner finds every one that is not.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from itertools import groupby
from uuid import UUID

from service.core.jobs import Job
from service.core.plans import DayPlan
from service.destinations.ready import ReadyDestination
from service.planning.model.result import Plan
from service.usecases.base.destination_kinds import is_hold
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.planned_day import range_of
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.problem.prices import COSTS
from service.usecases.day.replanning.outages import says_out
from service.usecases.day.told_routing import LOAD_HELD, PICK_UP, Told, ToldDay

# What may be otherwise with a vehicle, in the order it is told.
NEW = "it is new on this day"
WORDS = {
    "out": "it is out, or works again",
    "taken": "it takes over other things from vehicles that are out",
    "jobs": "its jobs ahead changed",
    "loads": "loads of it were tipped, turned away or sent off",
    "aboard": "what is aboard changed",
    "lots": "more is known of its lots",
    "locks": "a load of it was locked or unlocked",
    "limits": "it may carry another load",
    "parked": "it was left elsewhere",
}
# What needs no further words where it is said which vehicle is out.
SAID_BY_OUTAGE = frozenset({"out", "taken", "jobs"})


@dataclass(frozen=True, slots=True, kw_only=True)
class DayChanges:
    """What changed since a plan was made.

    Attributes
    ----------
    causes
        Why vehicles are planned again, by the planner's names.
    offers
        By the planner's name of a vehicle: destinations that may take more, and why.
    other_lots
        How many vehicles have lots ahead or aboard that weigh or are otherwise than was known.
    amended
        Names of beds and sites whose record was amended, by their ids.
    """

    causes: dict[str, str]
    offers: dict[str, dict[str, str]]
    other_lots: int
    amended: dict[UUID, str]


def changes_since(
    plan: DayPlan, previous: Plan, facts: DayFacts, asked: Asked, built: DayProblem
) -> DayChanges:
    """Return what changed on a day since a plan of it was made.

    Parameters
    ----------
    plan
        The newest plan.
    previous
        Its loads in the names of the new problem.
    """
    told = ToldDay.of(plan)
    causes, other_lots = {}, 0
    for key, day in built.vehicles.items():
        was = told.vehicles.get(str(day.vehicle_id))
        if was is None:
            causes[key] = NEW
            continue
        now, before = _now(day, facts), _before(was)
        differ = {name for name in now if now[name] != before[name]}
        vehicle = facts.vehicles[day.vehicle_id]
        if vehicle.parked_at is not None and vehicle.updated_at >= plan.planned_at:
            differ.add("parked")
        if any(_is_other_lot(job, told, asked) for job in _jobs_of(day, facts)):
            differ.add("lots")
            other_lots += 1
        if differ:
            out = {says_out(facts, vehicle_id) for vehicle_id in _givers(day)} - {None}
            left = differ - SAID_BY_OUTAGE if out else differ
            said = [words for name, words in WORDS.items() if name in left]
            causes[key] = "; ".join([*sorted(map(str, out)), *said])
    # Versions, not times: both may fall in one instant, and two machines' clocks differ.
    known = plan.record_versions or {}
    amended = {
        place.id: place.name
        for place in facts.asked_places
        if known.get(str(place.id)) != place.version
    }
    return DayChanges(
        causes=causes,
        offers=_offers(told, previous, built, amended),
        other_lots=other_lots,
        amended=amended,
    )


def _givers(day: VehicleDay) -> set[UUID]:
    """Return the vehicles that are out whose work this day is about: its own, or taken over."""
    taken_from = {piece.taken_from for piece in day.taken_over} - {None}
    return {vehicle_id for vehicle_id in taken_from if vehicle_id} | (
        {day.vehicle_id} if day.stands or day.given else set()
    )


def _now(day: VehicleDay, facts: DayFacts) -> dict[str, object]:
    """Return what a vehicle's day is, in the form in which it was told."""
    vehicle = facts.vehicles[day.vehicle_id]
    return {
        "out": day.stands,
        "taken": sorted({(str(piece.job_id), str(piece.taken_from)) for piece in day.taken_over}),
        "jobs": [one for one, _ in groupby(_stop_of(piece, facts) for piece in day.ahead)],
        "loads": sorted((str(load.id), load.state.value) for load in day.done_loads),
        "aboard": (day.mass_aboard_kg, day.volume_aboard_l),
        "locks": sorted(
            str(load.id)
            for load in facts.planned_loads
            if load.is_bound and load.vehicle_id == day.vehicle_id
        ),
        "limits": (vehicle.payload_kg, vehicle.body_volume_m3),
    }


def _stop_of(piece: LotPiece, facts: DayFacts) -> tuple[str, str]:
    """Return what a stop is about, and where or how, in the form in which it was told."""
    if piece.lies_in_bay:
        return str(piece.hold_entry_id), LOAD_HELD
    if piece.stands_at:
        return str(piece.job_id), PICK_UP
    return str(piece.job_id), str(facts.jobs_by_id[piece.job_id].property_id)


def _stop_told(stop: Told) -> tuple[str, str]:
    if stop["kind"] == LOAD_HELD:
        return stop["hold_entry_id"], LOAD_HELD
    return stop["job_id"], PICK_UP if stop["kind"] == PICK_UP else stop["property_id"]


def _before(was: Told) -> dict[str, object]:
    drops = [stop for stop in was["stops"] if stop["kind"] == "drop"]
    aboard = was["aboard_now"]
    jobs = [stop for stop in was["stops"] if stop["kind"] != "drop" and not stop["done"]]
    return {
        "out": (was.get("out") or {}).get("stands", False),
        "taken": sorted(
            {
                (stop["job_id"], stop["taken_over_from_id"])
                for stop in jobs
                if stop.get("taken_over_from_id")
            }
        ),
        "jobs": [one for one, _ in groupby(_stop_told(stop) for stop in jobs)],
        "loads": sorted((drop["load_id"], drop["state"]) for drop in drops if drop["done"]),
        "aboard": (aboard["mass_high_kg"], aboard["volume_high_l"]),
        "locks": sorted(drop["load_id"] for drop in drops if drop["locked"] and not drop["done"]),
        "limits": (was["payload_kg"], was["body_volume_m3"]),
    }


def _jobs_of(day: VehicleDay, facts: DayFacts) -> list[Job]:
    """Return the jobs whose lots are aboard or ahead."""
    ids = {job_id for piece in (*day.on_it, *day.ahead) for job_id, _ in piece.shares}
    return [facts.jobs_by_id[job_id] for job_id in ids if job_id in facts.jobs_by_id]


def _is_other_lot(job: Job, told: ToldDay, asked: Asked) -> bool:
    """Tell whether a known lot weighs, or is, otherwise than was told."""
    was = told.lots.get(str(job.id))
    if was is None:
        return False
    lot = asked.lots.get(job.id)
    status = (lot.status if lot else job.status).value
    mass_kg = range_of(job.estimate.mass_kg) if job.estimate else None
    return bool(was["status"] != status or was["mass_kg"] != mass_kg)


def _offers(
    told: ToldDay, previous: Plan, built: DayProblem, amended: Collection[UUID]
) -> dict[str, dict[str, str]]:
    """Return which vehicles are asked about which destinations, and why.

    Everybody is asked about a place that was closed to all or whose record was amended: the firm
    or the site said something new. About room that merely became free only those are asked who
    hold something: nobody else gets other tips because of what happened to others.
    """
    holding = {
        vehicle.id
        for vehicle in previous.vehicles
        for stop in vehicle.stops
        if stop.destination is not None and is_hold(built.destinations[stop.destination].kind)
    }
    uses = {use.id: use for use in previous.destinations}
    offers: dict[str, dict[str, str]] = {}
    for key, ready in built.destinations.items():
        why = _why_more(ready, told, uses[key].room_kg, is_amended=ready.id in amended)
        if why is None:
            continue
        words, is_for_all = why
        for vehicle in built.vehicles if is_for_all else sorted(holding):
            offers.setdefault(vehicle, {})[key] = words
    return offers


def _why_more(
    ready: ReadyDestination, told: ToldDay, room_kg: int, *, is_amended: bool
) -> tuple[str, bool] | None:
    """Return why a destination may take more, and whether all are asked; None if it does not.

    Nobody is asked about the bay: what has no better place finds it without being asked.
    """
    if is_hold(ready.kind):
        return None
    was = told.destinations.get(str(ready.id))
    if was is None:
        return f"{ready.name} takes lots of the day now", True
    if is_amended:
        return f"{ready.name} has another record", True
    free_kg = was["room_high_kg"] - was["planned_high_kg"]
    if room_kg >= free_kg + COSTS.minimum_tip_kg:
        return f"{ready.name} has more room", False
    return None
