"""What a place that is chosen by hand mixes: whose lots are drawn in, and which it spoils."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from service.core.loads import Load
from service.core.materials import STATUS_ORDER, LotStatus, worst_status
from service.core.places import DestinationKind
from service.usecases.day.bodies.composition import Drop, carried_in
from service.usecases.day.loads import tip_of
from service.usecases.planning.planner import UnstoredPlan
from service.usecases.telling.told.choices import DrawnIn


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tip:
    """One tip of a plan: where and when, what it is taken together, and its lots."""

    name: str
    kind: DestinationKind
    status: LotStatus
    lot_ids: frozenset[UUID]
    is_wanted: bool


def tipped_kg(wish: Load, made: UnstoredPlan) -> int:
    """Return what a plan tips where and when a choice wants it."""
    return sum(drop.stop.mass_kg for drop, wanted, _, _ in _drops(wish, made) if wanted)


def drawn_in(
    wish: Load, *, job_id: UUID | None, before: UnstoredPlan, after: UnstoredPlan
) -> tuple[DrawnIn, ...]:
    """Return the lots on the choice's vehicle that it mixes in, or that it has mixed with worse.

    Of a choice for the lot of a job those, too, that go along because one load has them all.
    """
    was, becomes = [*_tips(wish, before)], [*_tips(wish, after)]
    chosen = {part.lot_id for part in wish.parts if job_id in {None, part.job_id}}
    found = []
    for lot_id in {lot_id: None for tip in becomes for lot_id in sorted(tip.lot_ids)}:
        if lot_id in chosen:
            continue
        lot = after.asked.lots[lot_id]
        old = [tip for tip in was if lot_id in tip.lot_ids]
        new = [tip for tip in becomes if lot_id in tip.lot_ids]
        mixed = worst_status(tip.status for tip in new)
        # What no tip had before was mixed with nothing but itself.
        mixed_before = worst_status([lot.status, *(tip.status for tip in old)])
        spoiled = STATUS_ORDER.index(mixed) > STATUS_ORDER.index(mixed_before)
        if spoiled or any(tip.is_wanted for tip in new):
            found.append(
                DrawnIn(
                    lot_code=lot.lot_code,
                    status=lot.status,
                    mixed_status=mixed,
                    was_for=tuple(dict.fromkeys(tip.name for tip in old)),
                    goes_to=tuple(dict.fromkeys(tip.name for tip in new)),
                    is_spoiled=spoiled,
                    was_for_a_bed=any(tip.kind is DestinationKind.BED for tip in old),
                )
            )
    return tuple(found)


def _tips(wish: Load, made: UnstoredPlan) -> Iterator[_Tip]:
    for drop, wanted, name, kind in _drops(wish, made):
        lot_ids = frozenset(lot_id for lot_id, _ in drop.shares)
        yield _Tip(
            name=name,
            kind=kind,
            status=worst_status(made.asked.lots[lot_id].status for lot_id in lot_ids),
            lot_ids=lot_ids,
            is_wanted=wanted,
        )


def _drops(wish: Load, made: UnstoredPlan) -> Iterator[tuple[Drop, bool, str, DestinationKind]]:
    """Yield the tips of the choice's vehicle: whether each is the one that is wanted, and where."""
    wanted = tip_of(wish, made.built)
    for answer in made.plan.vehicles:
        day = made.built.vehicles[answer.id]
        if day.vehicle_id != wish.vehicle_id:
            continue
        for drop in carried_in(made.plan, answer, day).drops:
            place = made.built.destinations[drop.stop.destination or ""]
            is_it = (day.vehicle_id, place.id, drop.after_job_id) == wanted
            yield drop, is_it, place.name, place.kind
