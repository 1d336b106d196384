"""More in a body than it may carry: an overload, or a slip in what was said of a cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.core.crews import Vehicle
from service.core.jobs import Job
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts


def doubted_of(
    pieces: Sequence[LotPiece], facts: DayFacts, asked: Asked, vehicle: Vehicle
) -> Job | None:
    """Return the largest cut of a body that holds less than all of it is at the least, or None.

    That is an overload for certain, or a slip in what was said of a cut; not where its size was
    confirmed.
    """
    least = [
        (share * lot.mass_kg.low, share * lot.volume_m3.low, lot.job_id)
        for piece in pieces
        for lot_id, share in piece.shares
        if share and (lot := asked.lots.get(lot_id)) is not None
    ]
    if (
        sum(kg for kg, _, _ in least) <= vehicle.payload_kg
        and sum(m3 for _, m3, _ in least) <= vehicle.body_volume_m3
    ):
        return None
    job = facts.known_jobs.get(max(least)[2])
    return None if job is None or job.size_confirmed is not None else job


def overloaded(
    aboard_kg: int, aboard_l: int, vehicle: Vehicle, doubted: Job | None
) -> Iterator[dict[str, object]]:
    """Yield the warning that more may be aboard than a vehicle may carry, or its body holds."""
    if aboard_kg > vehicle.payload_kg or aboard_l > vehicle.body_volume_m3 * 1000.0:
        yield {
            "code": "vehicle_may_be_overloaded",
            "mass_high_kg": aboard_kg,
            "payload_kg": vehicle.payload_kg,
            "volume_high_l": aboard_l,
            "body_l": round(vehicle.body_volume_m3 * 1000.0),
            "doubted_job_id": None if doubted is None else str(doubted.id),
            "why": (
                f"{_first(doubted)}Nobody drives it on the road before it is weighed, or a part "
                "of it is tipped. "
                f"Up to {aboard_kg} kg and {aboard_l} L may be aboard; it may carry "
                f"{vehicle.payload_kg:g} kg and holds {vehicle.body_volume_m3 * 1000.0:.0f} L."
            ),
        }


def _first(doubted: Job | None) -> str:
    """Return what is looked at first where even the least that may be aboard is too much."""
    if doubted is None:
        return ""
    return (
        f"Look first whether area, height and measured mass of {doubted.lot_code} are right: even "
        "the least that may be aboard is too much. "
    )
