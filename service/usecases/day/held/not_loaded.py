"""What a plan had fetched out of a bay, and nobody said was loaded before its vehicle tipped.

It counts as lying there, and is asked after until somebody says that it was loaded, looks at it, or
tips it: of two mistakes the one that has a heap gone that goes on heating is the graver.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final

from service.core.loads import HoldEntry, HoldState, Load, LoadState
from service.core.mass_book import NOTHING
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.movements import TIPPED_STATES

NOT_TIPPED: Final = (LoadState.PLANNED, LoadState.SUPERSEDED)


def left_by(unit: UnitOfWork, tip: Load) -> list[HoldEntry]:
    """Return the heaps that were to be tipped with a load, and count as lying in their bays."""
    if tip.plan_id is not None or tip.state not in TIPPED_STATES:
        return []
    planned = unit.loads.all(
        tip.firm_id,
        working_day=tip.working_day,
        vehicle_id=tip.vehicle_id,
        destination_id=tip.destination_id,
        state=NOT_TIPPED,
    )
    ids = {part.hold_entry_id for load in planned for part in load.parts}
    entries = unit.hold_entries.get_many(tip.firm_id, sorted(filter(None, ids)))
    return [entry for _, entry in not_loaded([tip], planned, list(entries.values()))]


def not_loaded(
    tips: Sequence[Load], planned: Collection[Load], entries: Sequence[HoldEntry]
) -> Iterator[tuple[Load, HoldEntry]]:
    """Yield the heaps that nobody said were loaded, each with the tip that it was planned into."""
    for entry in entries:
        meant = [load for load in planned if any(p.hold_entry_id == entry.id for p in load.parts)]
        for tip in tips if entry.state is HoldState.IN_BAY else ():
            is_there = 1.0 - entry.loaded_share > NOTHING
            if is_there and not _is_seen(entry, tip) and any(_was(load, tip) for load in meant):
                yield tip, entry
                break


def _was(load: Load, tip: Load) -> bool:
    """Return whether a load was the plan for what was then tipped without its held grass."""
    if tip.plan_id is not None or tip.state not in TIPPED_STATES:
        return False
    by_then = load.state is LoadState.PLANNED or load.updated_at >= tip.created_at
    same = (load.vehicle_id, load.destination_id) == (tip.vehicle_id, tip.destination_id)
    fresh = {part.job_id for part in load.parts if part.hold_entry_id is None}
    return by_then and same and any(part.job_id in fresh for part in tip.parts)


def _is_seen(entry: HoldEntry, tip: Load) -> bool:
    """Return whether somebody was at a heap in its bay since, or loaded of it by their own word."""
    came = tip.done_at or tip.arrive_at
    looks = [one.at for one in entry.temperatures or ()]
    loaded = [one.at for one in entry.loadings or () if one.from_vehicle_id is None]
    return any(at > came for at in (*looks, *loaded))
