"""Replay what lots are aboard, so that every drop knows whose clippings are in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from service.agronomy.estimates.uncertainty import total
from service.core.estimates import Estimate
from service.core.jobs import LotFinding
from service.core.loads import LoadPart
from service.core.materials import LotStatus, worst_status
from service.destinations.verdicts import Lot
from service.planning.model.result import PlanStop
from service.usecases.day.vehicle_days import VehicleDay

NOTHING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """One tip of a plan with the shares of each job's lot in it.

    ``after_part`` counts the parts of the job fetched before it, where it is fetched in parts.
    """

    stop: PlanStop
    after_job_id: UUID | None
    after_part: int
    shares: tuple[tuple[UUID, float], ...]


def drops_of(day: VehicleDay, stops: Sequence[PlanStop]) -> list[Drop]:
    """Return the tips of a vehicle's planned stops with the shares they carry.

    A tip of q out of L kilograms takes the share q/L of everything aboard.
    """
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
            after_part = after_part + 1 if piece.job_id == after_job_id else 1
            after_job_id = piece.job_id
            if piece.mass_kg > 0:
                shares[piece.key] = 1.0
                mass_kg += piece.mass_kg
        elif stop.mass_kg > 0:
            fraction = min(1.0, stop.mass_kg / mass_kg)
            taken: dict[UUID, float] = {}
            for key, share in shares.items():
                piece = pieces[key]
                for job_id, part in piece.shares:
                    taken[job_id] = taken.get(job_id, 0.0) + share * fraction * part
            shares = {key: share * (1.0 - fraction) for key, share in shares.items()}
            shares = {key: share for key, share in shares.items() if share > NOTHING}
            mass_kg -= stop.mass_kg
            found.append(
                Drop(
                    stop=stop,
                    after_job_id=after_job_id,
                    after_part=after_part,
                    shares=tuple(taken.items()),
                )
            )
    return found


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
            LoadPart(job_id=lot.job_id, lot_code=lot.lot_code, share=round(share, 9))
            for lot, share in involved
        ),
        status=worst_status(lot.status for lot, _ in involved),
        findings=tuple(finding for lot, _ in involved for finding in lot.findings),
        mass_kg=_sum([(lot.mass_kg, share) for lot, share in involved], unit="kg"),
        volume_m3=_sum([(lot.volume_m3, share) for lot, share in involved], unit="m3"),
        nitrogen_kg=_sum([(lot.nitrogen_kg, share) for lot, share in involved], unit="kg"),
    )


def _sum(parts: Sequence[tuple[Estimate, float]], *, unit: str) -> Estimate:
    return total(
        [estimate.scaled(share, unit=unit) for estimate, share in parts],
        unit=unit,
        basis="shares of the lots aboard, which err together",
        correlation=1.0,
    )
