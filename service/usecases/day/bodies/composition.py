"""Replay what lots are aboard, so that every drop knows whose clippings are in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from service.agronomy.estimates.uncertainty import total
from service.core.jobs import LotFinding
from service.core.loads import LoadPart
from service.core.materials import LotStatus, worst_status
from service.core.measures.estimates import Estimate
from service.destinations.verdicts import Lot
from service.planning.model.result import Plan, PlanStop, Unplaced, VehiclePlan
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.destinations import Asked

NOTHING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """One tip of a plan with the shares of each job's lot in it.

    ``after_part`` counts the parts of the job fetched before it, where it is fetched in parts;
    ``fraction`` is what is tipped of all that is aboard, above 0, at most 1.
    """

    stop: PlanStop
    after_job_id: UUID | None
    after_part: int
    shares: tuple[tuple[UUID, float], ...]
    fraction: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What a vehicle's planned stops make of the lots: drops, and what has no place.

    ``on_lawns`` are shares of pieces that are not bagged, by their keys; ``rest`` is what is still
    aboard at the end, by job.
    """

    drops: tuple[Drop, ...]
    on_lawns: dict[str, float]
    rest: dict[UUID, float]
    rest_kg: int


def carried_by(
    day: VehicleDay, stops: Sequence[PlanStop], unplaced: Iterable[Unplaced] = ()
) -> Carried:
    """Return what becomes of a vehicle's lots on its way.

    A tip of q out of L kilograms takes the share q/L of everything aboard. What the plan leaves
    without a place stays on the lawns it would be cut on last; what more there is was aboard
    before, and stays there. A crew that bagged it would spoil what it has.

    Parameters
    ----------
    unplaced
        What the plan leaves of this vehicle's material.
    """
    lawn_kg = _left_on_lawns(day, stops, unplaced)
    shares: dict[str, float] = {}
    pieces = {piece.key: piece for piece in (*day.aboard, *day.ahead)}
    for piece in day.aboard:
        shares[piece.key] = 1.0
    mass_kg = sum(piece.mass_kg for piece in day.aboard)
    after_job_id: UUID | None = None
    after_part = 0
    found = []
    for stop in stops:
        if stop.job is not None:
            piece = pieces[stop.job]
            bagged_kg = piece.mass_kg - lawn_kg.get(piece.key, 0)
            after_part = after_part + 1 if piece.job_id == after_job_id else 1
            after_job_id = piece.job_id
            if bagged_kg > 0:
                shares[piece.key] = bagged_kg / piece.mass_kg
                mass_kg += bagged_kg
        elif stop.mass_kg > 0:
            fraction = min(1.0, stop.mass_kg / mass_kg)
            taken = _by_job(pieces, shares, fraction)
            shares = {key: share * (1.0 - fraction) for key, share in shares.items()}
            shares = {key: share for key, share in shares.items() if share > NOTHING}
            mass_kg -= stop.mass_kg
            found.append(
                Drop(
                    stop=stop,
                    after_job_id=after_job_id,
                    after_part=after_part,
                    shares=tuple(taken.items()),
                    fraction=fraction,
                )
            )
    return Carried(
        drops=tuple(found),
        on_lawns={key: kg / pieces[key].mass_kg for key, kg in lawn_kg.items()},
        rest=_by_job(pieces, shares),
        rest_kg=mass_kg,
    )


def carried_in(plan: Plan, answer: VehiclePlan, day: VehicleDay) -> Carried:
    """Return what a plan makes of a vehicle's lots."""
    return carried_by(
        day,
        [stop for stop in answer.stops if not stop.done],
        [part for part in plan.unplaced if part.vehicle == answer.id],
    )


def _by_job(
    pieces: Mapping[str, LotPiece], shares: Mapping[str, float], fraction: float = 1.0
) -> dict[UUID, float]:
    taken: dict[UUID, float] = {}
    for key, share in shares.items():
        for job_id, part in pieces[key].shares:
            taken[job_id] = taken.get(job_id, 0.0) + share * fraction * part
    return taken


def _left_on_lawns(
    day: VehicleDay, stops: Sequence[PlanStop], unplaced: Iterable[Unplaced]
) -> dict[str, int]:
    """Return the kilograms of pieces that stay where they are, by their keys."""
    left_kg = {part.after_job: part.mass_kg for part in unplaced}
    ahead = {piece.key: piece.mass_kg for piece in day.ahead}
    since_tip: list[str] = []
    lawn_kg: dict[str, int] = {}
    for stop in stops:
        if stop.job is None:
            since_tip.clear()
            continue
        since_tip.append(stop.job)
        more_kg = left_kg.get(stop.job, 0)
        for key in reversed(since_tip):
            kg = min(more_kg, ahead[key] - lawn_kg.get(key, 0))
            if kg > 0:
                lawn_kg[key] = lawn_kg.get(key, 0) + kg
                more_kg -= kg
    return lawn_kg


def have_a_taker(pieces: Iterable[LotPiece], asked: Asked) -> bool:
    """Return whether any destination takes everything that is in these pieces, mixed."""
    rows = [asked.verdicts[job_id] for piece in pieces for job_id, _ in piece.shares]
    return any(not any(said.refused for said in column) for column in zip(*rows, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cargo:
    """What a load is, taken together: the worst status, and masses that err together."""

    parts: tuple[LoadPart, ...]
    status: LotStatus
    findings: tuple[LotFinding, ...]
    mass_kg: Estimate
    volume_m3: Estimate
    nitrogen_kg: Estimate


def cargo_of(shares: Sequence[tuple[UUID, float]], lots: Mapping[UUID, Lot]) -> Cargo:
    """Return the load that these shares of lots make.

    The lots of one day were cut in the same weather: they are all wet or all dry, so
    their ends add up.
    """
    involved = [(lots[job_id], share) for job_id, share in shares]
    return Cargo(
        parts=tuple(
            LoadPart(
                job_id=lot.job_id,
                lot_code=lot.lot_code,
                share=round(share, 9),
                hold_entry_id=None if lot.held is None else lot.held.entry_id,
            )
            for lot, share in involved
        ),
        status=worst_status(lot.counts_as for lot, _ in involved),
        findings=tuple(finding for lot, _ in involved for finding in lot.findings),
        mass_kg=summed([(lot.mass_kg, share) for lot, share in involved], unit="kg"),
        volume_m3=summed([(lot.volume_m3, share) for lot, share in involved], unit="m3"),
        nitrogen_kg=summed([(lot.nitrogen_kg, share) for lot, share in involved], unit="kg"),
    )


def summed(parts: Sequence[tuple[Estimate, float]], *, unit: str) -> Estimate:
    """Return the sum of shares of amounts that err together: wet or dry, all of them."""
    return total(
        [estimate.scaled(share, unit=unit) for estimate, share in parts],
        unit=unit,
        basis="shares of the lots aboard, which err together",
        correlation=1.0,
    )
