"""What is wrong with a release before anybody is asked: whom it names, when it was."""

from __future__ import annotations

from datetime import datetime

from service.core.errors import FieldFault
from service.core.loads import HoldEntry, ReleasedAs
from service.usecases.base.destination_kinds import COLLECTABLE, KINDS
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.held.queue_states import since_words

# Less of a heap than this is all of it: scales and sums are rounded.
ALL_OF_IT = 0.999
NO_MASS = FieldFault(pointer="/mass", detail="Say how much of it went there.")


def release_faults(unit: UnitOfWork, entry: HoldEntry, *, now: datetime) -> list[FieldFault]:
    """Return all that is wrong with how an entry is said to have left its bay."""
    found = []
    place = entry.released_as is ReleasedAs.PLACE
    named = (entry.released_to_kind, entry.released_to_id, entry.released_with_id)
    if place and None in named:
        found += [
            FieldFault(pointer=f"/{name}", detail=detail)
            for name, value, detail in (
                ("released_to_kind", named[0], "Say what kind of place it went to."),
                ("released_to_id", named[1], "Say which place it went to."),
                ("released_with_id", named[2], "Say which vehicle brought it there."),
            )
            if value is None
        ]
    if not place and any(named):
        found.append(
            FieldFault(
                pointer="/released_as", detail="Only what went to a place names a place and a way."
            )
        )
    if entry.released_to_kind is not None and entry.released_to_kind not in COLLECTABLE:
        words = ", ".join(sorted(kind.value for kind in COLLECTABLE))
        found.append(FieldFault(pointer="/released_to_kind", detail=f"One of {words}."))
    elif place:
        found += _strangers(unit, entry)
    if entry.released_as is ReleasedAs.ELSEWHERE and not entry.released_to:
        found.append(FieldFault(pointer="/released_to", detail="Say where the clippings went."))
    since = entry.held_since or entry.cut_at
    if entry.released_at is not None and not since <= entry.released_at <= now:
        found.append(FieldFault(pointer="/released_at", detail=since_words(unit, entry, now)))
    return found


def _strangers(unit: UnitOfWork, entry: HoldEntry) -> list[FieldFault]:
    named = [("released_with_id", "vehicles", entry.released_with_id)]
    if entry.released_to_kind is not None:
        repository = KINDS[entry.released_to_kind].repository
        named.append(("released_to_id", repository, entry.released_to_id))
    return [
        FieldFault(
            pointer=f"/{field}",
            detail=f"There is no record with the id {one} among {book}.",
            code="reference_missing",
        )
        for field, book, one in named
        if one is not None and unit.repository(book).get(entry.firm_id, one) is None
    ]


def part_faults(grass: HeldGrass, part_kg: float) -> list[FieldFault]:
    """Return a fault if what is released is not a part of what lies there."""
    if part_kg <= 0.0:
        return [NO_MASS]
    lies_kg = grass.entry.mass_kg.likely
    if part_kg < ALL_OF_IT * lies_kg:
        return []
    detail = (
        f"Less than all that lies there, likely {lies_kg:.0f} kg; all of it is released by its "
        "`state`."
    )
    return [FieldFault(pointer="/mass", detail=detail)]
