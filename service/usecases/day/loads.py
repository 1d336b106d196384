"""Put a plan into the words of the records: loads and hold entries."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from uuid import UUID

from service.core.loads import Load, LoadState
from service.core.plans import Verdict
from service.core.records import Identifiers
from service.destinations.ready import ReadyDestination
from service.planning.model.result import Plan
from service.usecases.day.bodies.composition import Cargo, Drop, cargo_of, carried_in
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.problem.locks import share_a_lot


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadStamp:
    """What every load of one plan has in common."""

    plan_id: UUID
    firm_id: UUID
    facts: DayFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLoads:
    """The loads of a plan: kept ones, new ones, and those of the plan before that fell away."""

    loads: tuple[Load, ...]
    amended: tuple[Load, ...]
    fresh: tuple[Load, ...]
    superseded: tuple[Load, ...]


def loads_of(
    stamp: LoadStamp, built: DayProblem, plan: Plan, asked: Asked, identifiers: Identifiers
) -> PlannedLoads:
    """Return the loads of a plan; one that is the same as before keeps its id and its notes.

    A locked choice stays locked where its load becomes another because other lots are in it.
    """
    before: dict[tuple[object, ...], list[Load]] = defaultdict(list)
    for load in sorted(stamp.facts.planned_loads, key=lambda load: load.sequence):
        before[_identity(load)].append(load)
    loads, amended, fresh = [], [], []
    for vehicle_plan in plan.vehicles:
        day = built.vehicles[vehicle_plan.id]
        carried = carried_in(plan, vehicle_plan, day)
        for sequence, drop in enumerate(carried.drops, start=len(day.done_loads) + 1):
            ready = built.destinations[drop.stop.destination or ""]
            load = _load(
                stamp,
                day,
                ready,
                drop,
                asked=asked,
                built=built,
                sequence=sequence,
                load_id=identifiers.next_id(),
            )
            twins = before[_identity(load)]
            if not twins:
                fresh.append(load)
                loads.append(load)
                continue
            kept = twins.pop(0)
            again = _planned_anew(kept, load)
            if _as_told(again) != _as_told(kept):
                amended.append(again)
                loads.append(again)
            else:
                loads.append(kept)
    lost = [load for load in stamp.facts.lost_locks if load.is_bound]
    fallen = [load for twins in before.values() for load in twins]
    locks = {tip_of(load, built): load for load in (*fallen, *lost) if load.is_bound}
    now = stamp.facts.now
    is_new = {load.id for load in fresh}
    is_written = is_new | {load.id for load in amended}
    # Who chooses the place that is planned already locks a load that stays as it is.
    bound = {
        load.id: replace(
            load,
            locked=lock.locked,
            override_reason=lock.override_reason,
            chosen_by_id=lock.chosen_by_id,
            at_gate_at=lock.at_gate_at,
            weighed_net=lock.weighed_net,
            weigh_ticket=lock.weigh_ticket,
            version=load.version if load.id in is_written else load.version + 1,
            updated_at=now,
        )
        for load in loads
        if locks
        and not load.is_bound
        and (lock := locks.get(tip_of(load, built))) is not None
        and (load.id in is_new or share_a_lot(load, lock))
    }
    amended = [
        *(bound.get(load.id, load) for load in amended),
        *(load for load in bound.values() if load.id not in is_written),
    ]
    # A lock that went on to another load, or came back in one, is no lost one.
    handed_on = {tip_of(load, built) for load in (*bound.values(), *loads) if load.is_bound}
    gone = [
        replace(
            load,
            state=LoadState.SUPERSEDED,
            locked=load.locked and tip_of(load, built) not in handed_on,
            at_gate_at=None if tip_of(load, built) in handed_on else load.at_gate_at,
        ).renewed(now)
        for load in (*fallen, *(one for one in lost if tip_of(one, built) in handed_on))
    ]
    return PlannedLoads(
        loads=tuple(bound.get(load.id, load) for load in loads),
        amended=tuple(amended),
        fresh=tuple(bound.get(load.id, load) for load in fresh),
        superseded=tuple(gone),
    )


def tip_of(load: Load, built: DayProblem) -> tuple[UUID, UUID, UUID | None]:
    """Return vehicle, destination and job before a tip, None before the first one ahead."""
    ahead = {
        piece.job_id
        for day in built.vehicles.values()
        if day.vehicle_id == load.vehicle_id
        for piece in day.ahead
    }
    after = load.after_job_id if load.after_job_id in ahead else None
    return load.vehicle_id, load.destination_id, after


def _planned_anew(kept: Load, load: Load) -> Load:
    """Return a kept load with what the plan decides; tickets, locks and words stay."""
    return replace(
        kept,
        plan_id=load.plan_id,
        crew_id=load.crew_id,
        sequence=load.sequence,
        after_job_id=load.after_job_id,
        arrive_at=load.arrive_at,
        parts=load.parts,
        status=load.status,
        mass_kg=load.mass_kg,
        volume_m3=load.volume_m3,
        nitrogen_kg=load.nitrogen_kg,
        fee_cents=load.fee_cents,
        explanation=load.explanation,
    ).renewed(load.updated_at)


def _as_told(load: Load) -> Load:
    """Return a load without what every new plan would change although nothing did.

    Of its explanation only the fairness stays: a depot that changes its mind has that told.
    """
    return replace(
        load,
        version=1,
        updated_at=load.created_at,
        plan_id=load.id,
        explanation={"fairness": load.explanation.get("fairness")},
    )


def _identity(load: Load) -> tuple[object, ...]:
    """Return what makes two planned loads the same load to the people who handle it."""
    return (
        load.vehicle_id,
        load.destination_id,
        tuple(sorted((str(part.lot_id), round(part.share, 3)) for part in load.parts)),
    )


def _load(
    stamp: LoadStamp,
    day: VehicleDay,
    ready: ReadyDestination,
    drop: Drop,
    *,
    asked: Asked,
    built: DayProblem,
    sequence: int,
    load_id: UUID,
) -> Load:
    cargo = cargo_of(drop.shares, asked.lots)
    return Load(
        id=load_id,
        firm_id=stamp.firm_id,
        version=1,
        created_at=stamp.facts.now,
        updated_at=stamp.facts.now,
        depot_id=stamp.facts.depot.id,
        working_day=stamp.facts.span.day,
        plan_id=stamp.plan_id,
        vehicle_id=day.vehicle_id,
        crew_id=_crew_of(day, cargo, stamp.facts),
        destination_kind=ready.kind,
        destination_id=ready.id,
        sequence=sequence,
        after_job_id=drop.after_job_id,
        # Whoever is there sooner waits until it opens.
        arrive_at=stamp.facts.span.at_second(ready.begins_s(drop.stop.arrive_s)),
        parts=cargo.parts,
        status=cargo.status,
        mass_kg=cargo.mass_kg,
        volume_m3=cargo.volume_m3,
        nitrogen_kg=cargo.nitrogen_kg,
        fee_cents=ready.fee_cents(mass_kg=cargo.mass_kg.likely, volume_m3=cargo.volume_m3.likely),
        explanation=_drop_explanation(drop, ready, cargo, asked, built),
    )


def _crew_of(day: VehicleDay, cargo: Cargo, facts: DayFacts) -> UUID:
    """Return who brings a load: the crew of its first job, or the one that took it over.

    What was forked over stays a job of the crew that mowed it, in the vehicle of another.
    """

    def usual(crew_id: UUID) -> UUID | None:
        crew = facts.crews.get(crew_id)
        return None if crew is None else crew.vehicle_id

    job = facts.known_jobs[cargo.parts[0].job_id]
    own = [other.crew_id for other in facts.jobs_of(day.vehicle_id)]
    drivers = [crew_id for crew_id in own if usual(crew_id) == day.vehicle_id]
    if job.vehicle_id != day.vehicle_id:
        return (drivers or own or [job.crew_id])[-1]
    is_taken_over = bool(drivers) and usual(job.crew_id) not in {None, day.vehicle_id}
    return drivers[-1] if is_taken_over else job.crew_id


def _drop_explanation(
    drop: Drop, ready: ReadyDestination, cargo: Cargo, asked: Asked, built: DayProblem
) -> dict[str, object]:
    """Return why the load goes there: the limit that binds, and who nearly won."""
    others, extra_cents = _runner_up(drop, ready, cargo, asked, built)
    heaviest = max(cargo.parts, key=lambda part: asked.lots[part.lot_id].mass_kg.high * part.share)
    limit = _said(ready, heaviest.lot_id, asked)
    fair = ready.fairness
    spared = fair.after(limit.code) if fair is not None else ""
    return {
        "chosen": f"{ready.name}. {limit.sentence} {spared}".rstrip(),
        "fairness": None if fair is None else {"sentence": fair.sentence, **fair.facts},
        "limit_code": limit.code,
        "limit_mass_kg": drop.stop.mass_kg,
        "after_part": drop.after_part,
        "runner_up": [
            {"destination_id": str(other.id), "kind": other.kind.value, "name": other.name}
            for other in others
        ],
        "runner_up_extra_cents": extra_cents,
        "findings": [finding.code for finding in cargo.findings],
    }


def _runner_up(
    drop: Drop, ready: ReadyDestination, cargo: Cargo, asked: Asked, built: DayProblem
) -> tuple[list[ReadyDestination], int | None]:
    """Return who would get this load next, of those that take every lot in it, and the extra cost.

    The planner tells what its vehicle would do without the chosen place; what it names for
    other loads of the vehicle is no runner-up of this one.
    """
    told = drop.stop.runner_up
    if told is None:
        return [], None
    others = [
        other
        for key in told.destinations
        if (other := built.destinations.get(key)) is not None
        and other.id != ready.id
        and not any(_said(other, part.lot_id, asked).refused for part in cargo.parts)
    ]
    return others, told.extra_cents


def _said(ready: ReadyDestination, lot_id: UUID, asked: Asked) -> Verdict:
    return asked.verdicts[lot_id][asked.position[ready.id]]
