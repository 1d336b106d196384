"""What a vehicle sets off with is aboard, and on its way no more once it is tipped elsewhere."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from uuid import UUID

from service.core.loads import Load, LoadPart, LoadState
from service.core.mass_book import NOTHING, MovementCause
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Stamp
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.mass_book.heaps import heaps_of
from service.usecases.mass_book.movements import TIPPED_STATES, MoreThanThereIs, standing
from service.usecases.records.amending import write_over
from service.usecases.records.held.queue_states import follow_bay
from service.usecases.records.loads.correct_loads import with_amounts


def refuse_what_is_not_there(unit: UnitOfWork, old: Load, new: Load) -> None:
    """Refuse that a vehicle sets off with what was brought elsewhere before, or is on its way.

    It would count as aboard twice, or for ever. What it had tipped itself is aboard again.

    Raises
    ------
    MoreThanThereIs
    """
    if new.state is not LoadState.UNDER_WAY or old.state in TIPPED_STATES:
        return
    left = defaultdict(float, _there_for(unit, new))
    for other in _on_their_way(unit, new):
        for part in other.parts:
            left[part.lot_id] -= part.share
    for part in new.parts:
        over = part.share - max(0.0, left[part.lot_id])
        if over > NOTHING:
            raise MoreThanThereIs(
                lot=part.lot_code,
                over=over,
                place="the vehicle",
                where=", ".join(_said_by(unit, new, part)) or "no load",
            )


def end_on_the_way(unit: UnitOfWork, tipped: Load, stamp: Stamp) -> None:
    """Let what a vehicle set off with be on its way no more once it is tipped elsewhere.

    It would count as aboard, and be waited for at its place, for ever. What is left of it still is
    on its way.

    Parameters
    ----------
    tipped
        A load as it is kept and booked.
    """
    lots = {part.lot_id for part in tipped.parts}
    for old in _on_their_way(unit, tipped):
        if not lots & {part.lot_id for part in old.parts}:
            continue
        # Of a heap that was to be fetched beside a fresh cut nobody said that it was loaded.
        is_fresh = any(part.hold_entry_id is None for part in old.parts)
        left = _there_for(unit, old, in_bay=not is_fresh)
        parts = tuple(_still_there(part, left) for part in old.parts)
        if parts == old.parts:
            continue
        if any(part.share > NOTHING for part in parts):
            jobs = unit.jobs.get_many(old.firm_id, sorted({part.job_id for part in parts}))
            new = with_amounts(unit, replace(old, parts=parts), jobs).renewed(stamp.now)
        else:
            new = replace(old, state=LoadState.SUPERSEDED, locked=False, at_gate_at=None).renewed(
                stamp.now
            )
        write_over(unit, "loads", old, new, stamp)
        if is_hold(old.destination_kind):
            follow_bay(unit, old, new, stamp.now)


def _on_their_way(unit: UnitOfWork, load: Load) -> list[Load]:
    going = unit.loads.all(load.firm_id, vehicle_id=load.vehicle_id, state=LoadState.UNDER_WAY)
    return [one for one in going if one.id != load.id]


def _there_for(unit: UnitOfWork, load: Load, *, in_bay: bool = True) -> dict[UUID, float]:
    """Return by lot how much of it a load can bring: what is aboard, or lies in its bay too."""
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    found, _ = lots_aboard(unit, load.firm_id, jobs, load.vehicle_id)
    ids = {part.hold_entry_id for part in load.parts if in_bay and part.hold_entry_id is not None}
    entries = unit.hold_entries.get_many(load.firm_id, sorted(ids)) if ids else {}
    for heap in heaps_of(unit, load.firm_id, list(entries.values())):
        for lot_id, share in heap.in_bay.items():
            found[lot_id] = found.get(lot_id, 0.0) + max(0.0, share)
    return found


def _still_there(part: LoadPart, left: Mapping[UUID, float]) -> LoadPart:
    share = max(0.0, left.get(part.lot_id, 0.0))
    return part if part.share <= share + NOTHING else replace(part, share=share)


def _said_by(unit: UnitOfWork, load: Load, part: LoadPart) -> list[str]:
    """Return the paths of the loads that brought a lot elsewhere, or are at it."""
    entries = standing(unit.mass_movements.of_lots(load.firm_id, [part.job_id]))
    tipped = {entry.cause_id for entry in entries if entry.cause is MovementCause.TIPPED}
    going = {
        other.id
        for other in _on_their_way(unit, load)
        if part.lot_id in {one.lot_id for one in other.parts}
    }
    return [f"/loads/{one}" for one in sorted(tipped | going)]
