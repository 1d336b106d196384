"""Turn a day's facts into the planner's whole numbers, and remember what they stood for."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from uuid import UUID

from service.core.jobs import Job
from service.core.measures.units import LITRES_PER_M3
from service.core.places import Point
from service.core.plans import Verdict
from service.destinations.hold_bay import ALREADY_HELD
from service.destinations.laid.fairness import LIMIT_CODE
from service.destinations.ready import ReadyDestination
from service.destinations.verdicts import refused
from service.planning.model.problem import (
    Aboard,
    Locked,
    Matrix,
    Place,
    Problem,
    Vehicle,
)
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.travel import Distances, TravelMatrix
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import (
    VehicleDay,
    payload_and_body,
    vehicle_days_of,
)
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.problem.destinations import (
    NOTHING_LOADED,
    HeldLater,
    counted_together,
    ends_of,
    planner_destination,
    takers,
)
from service.usecases.day.problem.jobs import ahead_of
from service.usecases.day.problem.locks import is_emptied_first, locked_tips
from service.usecases.day.problem.prices import CrewMinute, costs_with, crew_minute

NO_END_S = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class DayProblem:
    """The planner's problem and what its names stand for."""

    problem: Problem
    vehicles: dict[str, VehicleDay]
    destinations: dict[str, ReadyDestination]
    pieces: dict[str, LotPiece]
    places: dict[Point, str]
    travel: TravelMatrix
    crew_minute: CrewMinute

    def vehicles_with(self, job_ids: Collection[UUID]) -> frozenset[str]:
        """Return the planner's names of the vehicles that have, or will have, any of some jobs."""
        return frozenset(
            key
            for key, day in self.vehicles.items()
            for piece in (*day.aboard, *day.ahead)
            if any(job_id in job_ids for job_id, _ in piece.shares)
        )


def build_problem(
    facts: DayFacts,
    asked: Asked,
    routed: Sequence[Job],
    *,
    rulebook: Rulebook,
    distances: Distances,
    without_locks: Collection[str] = (),
    days: Sequence[VehicleDay] | None = None,
    could_be_asked: bool = False,
) -> DayProblem:
    """Return the planner's problem of what is still ahead on the day.

    What is done or under way is not in it: it has set where each vehicle is, what is
    aboard and what is left of each destination's room. Names in the problem come from
    the order of the day, never from ids, so that the order of posting changes nothing.

    Parameters
    ----------
    routed
        The jobs whose clippings go on a vehicle, by time.
    without_locks
        Vehicles, by the planner's names, whose loads move though a dispatcher locked them.
    days
        The vehicles' days, if they are not simply their own jobs, see ``days_taken_over``.
    could_be_asked
        Have sites in it that take nothing of the day, and by a word of theirs might.
    """
    vehicle_days = vehicle_days_of(facts, asked, routed) if days is None else days
    rows: dict[UUID | str, tuple[Verdict, ...]] = {job.id: asked.verdicts[job.id] for job in routed}
    pieces = {piece.key: piece for day in vehicle_days for piece in (*day.aboard, *day.ahead)}
    mixes = [piece for piece in pieces.values() if piece.is_judged_apart]
    rows |= {piece.key: mixed_row(asked, piece) for piece in mixes}
    usable = takers(asked, rows.values(), could_be_asked=could_be_asked)
    # A bed that is full by the firm's own wish is no destination, but its way is told.
    spared = [
        ready
        for position, ready in enumerate(asked.destinations)
        if ready.fairness is not None
        and any(row[position].code == LIMIT_CODE for row in rows.values())
    ]
    points = _points(facts, vehicle_days, [*usable, *spared])
    names = {point: f"P{number}" for number, point in enumerate(points)}
    travel = distances.matrix(points)
    ends: dict[UUID | str, tuple[int | None, ...]] = {
        **{job.id: ends_of([job.id], asked, facts.span) for job in routed},
        **{p.key: ends_of([j for j, _ in p.shares], asked, facts.span) for p in mixes},
    }
    signatures = {
        piece.key: NOTHING_LOADED for piece in pieces.values() if not piece.mass_kg
    } | _signatures(asked, rows, ends, usable)
    m3_per_kg: dict[UUID | str, float] = {
        **{lot.id: lot.volume_m3.likely / lot.mass_kg.likely for lot in asked.lots.values()},
        **{piece.key: piece.volume_l / LITRES_PER_M3 / piece.mass_kg for piece in mixes},
    }
    counting: list[UUID | str] = [*(job.id for job in routed), *(piece.key for piece in mixes)]
    counted = counted_together(
        (rows[key], ends[key], signatures[key], m3_per_kg[key]) for key in counting
    )
    statuses = {
        piece.key: signatures[piece.key if piece.key in signatures else piece.job_id]
        for piece in pieces.values()
    }
    jobs = facts.known_jobs
    fee_scale = _likely_per_high(asked, routed)
    destinations = {f"D{number}": ready for number, ready in enumerate(usable)}
    named_days = {f"V{number}": day for number, day in enumerate(vehicle_days)}
    minute = crew_minute(facts.depot, facts.currency, facts.span.day, rulebook=rulebook)
    later = HeldLater.of(minute, facts.rules(rulebook))
    problem = Problem(
        name=f"{facts.depot.name} {facts.span.day.isoformat()}",
        costs=costs_with(minute),
        statuses=tuple(sorted({NOTHING_LOADED, *signatures.values()})),
        places=tuple(Place(id=names[point]) for point in points),
        vehicles=tuple(
            _vehicle(
                key,
                day,
                facts=facts,
                statuses=statuses,
                names=names,
                least_permille=_least_permille(day, asked),
                is_emptied_first=is_emptied_first(
                    day,
                    facts,
                    asked,
                    drive_s=dict(
                        zip(
                            points,
                            travel.duration_s[points.index(day.start_point)].tolist(),
                            strict=True,
                        )
                    ),
                ),
                locked=() if key in without_locks else locked_tips(day, facts, asked, destinations),
            )
            for key, day in named_days.items()
        ),
        jobs=tuple(
            job
            for day in vehicle_days
            for job in ahead_of(day, facts, jobs, names, travel, statuses)
        ),
        destinations=tuple(
            planner_destination(
                key,
                ready,
                counted=counted,
                fee_scale=fee_scale,
                later=later,
                position=asked.position[ready.id],
                place=names[ready.point],
            )
            for key, ready in destinations.items()
        ),
        matrix=Matrix(
            distance_m=tuple(tuple(row) for row in travel.distance_m.tolist()),
            duration_s=tuple(tuple(row) for row in travel.duration_s.tolist()),
        ),
    )
    return DayProblem(
        problem=problem,
        vehicles=named_days,
        destinations=destinations,
        pieces=pieces,
        places=names,
        travel=travel,
        crew_minute=minute,
    )


def mixed_row(asked: Asked, piece: LotPiece) -> tuple[Verdict, ...]:
    """Return what every destination says to a mixed load: what it says to its worst lot.

    What lies in a bay is not brought to one, also where some of its heap is aboard and may be.
    """
    row = asked.of_mixture(lot_id for lot_id, _ in piece.shares)
    if not piece.lies_in_bay:
        return row
    return tuple(
        refused(ready.kind, ready.id, ALREADY_HELD) if is_hold(ready.kind) else verdict
        for ready, verdict in zip(asked.destinations, row, strict=True)
    )


def _points(
    facts: DayFacts, vehicle_days: Sequence[VehicleDay], usable: Sequence[ReadyDestination]
) -> list[Point]:
    points = [facts.depot.point]
    points += [day.start_point for day in vehicle_days]
    points += [facts.properties[job.property_id].point for job in facts.jobs]
    points += [ready.point for ready in usable]
    return list(dict.fromkeys(points))


def _vehicle(
    key: str,
    day: VehicleDay,
    *,
    facts: DayFacts,
    statuses: Mapping[str, str],
    names: dict[Point, str],
    least_permille: int,
    is_emptied_first: bool,
    locked: tuple[Locked, ...],
) -> Vehicle:
    vehicle = facts.vehicles[day.vehicle_id]
    shift_end_s = facts.span.second(facts.span.at_clock(facts.depot.shift_ends))
    if day.out_s is not None:
        shift_end_s = min(shift_end_s, day.out_s)
    payload_kg, body_l = payload_and_body(vehicle)
    return Vehicle(
        id=key,
        start_place=names[day.start_point],
        # A vehicle that stands is driven nowhere: fetching it is another's cost and hour.
        end_place=names[day.start_point if day.stands else facts.depot.point],
        shift_start_s=day.start_s,
        shift_end_s=max(shift_end_s, day.start_s),
        # What is aboard may be more: then the planner must tip before it loads again.
        payload_kg=payload_kg,
        body_l=body_l,
        jobs=tuple(piece.key for piece in day.ahead),
        aboard=tuple(
            Aboard(
                mass_kg=piece.mass_kg,
                # Each kilogram counts as a full body: down to the last there is room for nothing.
                volume_l=body_l * piece.mass_kg if is_emptied_first else piece.volume_l,
                status=statuses[piece.key],
            )
            for piece in day.aboard
        ),
        locked=locked,
        least_permille=least_permille,
    )


def _signatures(
    asked: Asked,
    rows: Mapping[UUID | str, tuple[Verdict, ...]],
    ends: Mapping[UUID | str, tuple[int | None, ...]],
    usable: Sequence[ReadyDestination],
) -> dict[UUID | str, str]:
    """Return a name for each lot's pattern of acceptances: what the planner calls a status.

    Two lots with the same pattern may go to exactly the same destinations, as long, so to the
    planner they are the same kind of thing; it need not know why.
    """
    columns = [asked.position[ready.id] for ready in usable]
    same: dict[tuple[int, int], tuple[int, ...]] = {}  # by their rows: lots of a kind share them
    patterns: dict[UUID | str, tuple[int, ...]] = {}
    for name, row in rows.items():
        own = ends[name]
        pattern = same.get((id(row), id(own)))
        if pattern is None:
            pattern = same[id(row), id(own)] = tuple(
                # -1: not at all; the last second; a second after every day
                -1 if row[column].refused else NO_END_S if (end := own[column]) is None else end
                for column in columns
            )
        patterns[name] = pattern
    names = {pattern: f"S{number}" for number, pattern in enumerate(sorted(set(patterns.values())))}
    return {name: names[pattern] for name, pattern in patterns.items()}


def _least_permille(day: VehicleDay, asked: Asked) -> int:
    """Return high over likely mass of the lot of a vehicle that is least sure.

    A client's least is meant of the likely mass, and the planner counts the high end. Lots of
    other vehicles are never in the same tip.
    """
    masses = [
        asked.lots[lot_id].mass_kg
        for piece in (*day.aboard, *day.ahead)
        for lot_id, _ in piece.shares
        if piece.mass_kg
    ]
    return ceil(1000 * max((mass.high / mass.likely for mass in masses), default=1.0))


def _likely_per_high(asked: Asked, routed: Sequence[Job]) -> float:
    """Return likely over high mass of the day: limits are kept at the high end, costs are not."""
    high = sum(asked.lots[job.id].mass_kg.high for job in routed)
    return sum(asked.lots[job.id].mass_kg.likely for job in routed) / high if high > 0 else 1.0
