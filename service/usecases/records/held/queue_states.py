"""What the hold queue says when loads come to a bay, or bring on what lay in one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from service.core.errors import Refusal
from service.core.loads import HoldEntry, HoldState, Load, LoadState, ReleasedAs, lot_id_of
from service.core.mass_book import NOTHING
from service.usecases.base.calendar import depot_clock
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.lots.held_grass import NOTHING_LIES
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.held.entries import RELEASE_CONDITIONS
from service.usecases.mass_book.heaps import heaps_of
from service.usecases.mass_book.keeping import loads_with
from service.usecases.mass_book.movements import MoreThanThereIs

STAYED_STATES = frozenset({LoadState.DELIVERED, LoadState.PARTLY_REFUSED})


class StateNotReachable(Refusal):
    """A load does not go from its state to that one."""

    code = "state_not_reachable"
    sentence = "A load that is {state} cannot become {wanted}."


def follow_bay(unit: UnitOfWork, old: Load, load: Load, now: datetime) -> None:
    """Let a tipped load lie in its bay, and expect one no more that was refused.

    Raises
    ------
    StateNotReachable, MoreThanThereIs
        If what lay there has left the bay, or more of it than would have come.
    """
    was, becomes = _held_as(old), _held_as(load)
    if was is becomes and (old.parts, old.kept_share) == (load.parts, load.kept_share):
        return
    entries: list[HoldEntry] = unit.hold_entries.all(load.firm_id, load_id=load.id)
    if was is becomes:
        if was is HoldState.IN_BAY:
            _refuse_less_than_left(unit, entries, load)
        return
    if was is HoldState.IN_BAY and any(e.state is HoldState.RELEASED for e in entries):
        # What left the bay is not in it, whatever is said of the tip.
        raise StateNotReachable(state="released from the bay", wanted=load.state.value)
    if was is HoldState.IN_BAY and any(e.loadings for e in entries):
        raise StateNotReachable(state="loaded out of the bay", wanted=load.state.value)
    code, condition = RELEASE_CONDITIONS[load.status]
    for entry in [entry for entry in entries if entry.state is was][-1:]:
        unit.hold_entries.replace(
            replace(
                entry,
                state=becomes,
                # What was tipped on top of something else counts as the worst that was in the body.
                status=load.status,
                release_condition_code=code,
                release_condition=condition,
                held_since=load.done_at if becomes is HoldState.IN_BAY else None,
            ).renewed(now),
            expected_version=entry.version,
        )


def _refuse_less_than_left(unit: UnitOfWork, entries: Sequence[HoldEntry], load: Load) -> None:
    """Refuse that less of a load stayed in its bay than was brought on from there since."""
    ids = {entry.id for entry in entries}
    for heap in heaps_of(unit, load.firm_id, entries, known=[load]):
        for part in load.parts:
            lot_id = lot_id_of(part.job_id, heap.entry.id)
            over = heap.tipped[lot_id] - heap.came[lot_id]
            if over > NOTHING:
                kept = unit.mass_movements.of_lots(load.firm_id, [part.job_id])
                brought_on = sorted(
                    other.id
                    for other in loads_with(unit, load.firm_id, kept)
                    if ids & {one.hold_entry_id for one in other.parts}
                )
                raise MoreThanThereIs(
                    lot=part.lot_code,
                    over=over,
                    place="the hold bay",
                    where=", ".join(f"/loads/{one}" for one in brought_on),
                )


def follow_brought_on(unit: UnitOfWork, load: Load, now: datetime) -> None:
    """Let entries have left their bay when all of them is tipped elsewhere, and wait if not.

    What of them is in a body waits as well: it is tipped, or comes back to a bay.

    Parameters
    ----------
    load
        As it is now, and as it is kept.
    """
    ids = sorted({part.hold_entry_id for part in load.parts if part.hold_entry_id is not None})
    if not ids:
        return
    entries = unit.hold_entries.get_many(load.firm_id, ids)
    for heap in heaps_of(unit, load.firm_id, list(entries.values()), known=[load]):
        entry = heap.entry
        lies = sum(max(0.0, came - heap.tipped[lot_id]) for lot_id, came in heap.came.items())
        becomes = HoldState.RELEASED if lies <= NOTHING_LIES else HoldState.IN_BAY
        is_other_time = entry.released_load_id == load.id and entry.released_at != load.done_at
        if entry.state in {HoldState.IN_BAY, HoldState.RELEASED} and (
            becomes is not entry.state or is_other_time
        ):
            _say(unit, entry, load, becomes, now)


def _say(unit: UnitOfWork, entry: HoldEntry, load: Load, becomes: HoldState, now: datetime) -> None:
    said = in_bay_again(entry)
    if becomes is HoldState.RELEASED:
        said = replace(
            said,
            state=becomes,
            released_at=load.done_at,
            released_to=_name_of(unit, load),
            released_as=ReleasedAs.PLACE,
            released_to_kind=load.destination_kind,
            released_to_id=load.destination_id,
            released_with_id=load.vehicle_id,
            released_load_id=load.id,
        )
    unit.hold_entries.replace(said.renewed(now), expected_version=entry.version)


def since_words(unit: UnitOfWork, entry: HoldEntry, now: datetime) -> str:
    """Return between when something can have been done with what lies in a bay."""
    bay = unit.hold_bays.get(entry.firm_id, entry.hold_bay_id)
    depot = None if bay is None else unit.depots.get(entry.firm_id, bay.depot_id)
    since = depot_clock(depot, entry.held_since or entry.cut_at, now=now)
    return f"After it came to the bay ({since}) and not ahead of now."


def in_bay_again(entry: HoldEntry) -> HoldEntry:
    """Return an entry as if it had never been released."""
    return replace(
        entry,
        state=HoldState.IN_BAY,
        released_at=None,
        released_to=None,
        released_as=None,
        released_to_kind=None,
        released_to_id=None,
        released_with_id=None,
        released_load_id=None,
    )


def _name_of(unit: UnitOfWork, load: Load) -> str:
    kind = KINDS[load.destination_kind]
    place = unit.repository(kind.repository).get(load.firm_id, load.destination_id)
    return kind.one if place is None else str(place.name)


def _held_as(load: Load) -> HoldState:
    """Return what a load for a bay is in its queue."""
    if load.state in STAYED_STATES:
        return HoldState.IN_BAY
    gone = load.state in {LoadState.REFUSED, LoadState.SUPERSEDED}
    return HoldState.SUPERSEDED if gone else HoldState.EXPECTED
