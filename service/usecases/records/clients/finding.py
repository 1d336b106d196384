"""By what a client is found in what tells of many: ids, and words that nobody else has."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from service.core.personal.erasing import Person, person_of, texts_of
from service.core.personal.register import Fate, fates_of
from service.usecases.base.ports.kept_texts import Wanted
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.clients.theirs import Theirs

BOOKS: Final = ("clients", "properties", "lawns", "beds", "treatments")
# Where others' free words stand, beside the books: what two have said tells of neither.
ALSO_SAID_IN: Final = (
    "jobs",
    "loads",
    "hold_entries",
    "delivery_notes",
    "recalls",
    "amendments",
)
REASON: Final[Mapping[str, Fate]] = {"reason": Fate.REPLACED}


def found_by(unit: UnitOfWork, theirs: Theirs) -> Person:
    """Return what a client is found by in what tells of many."""
    records = list(theirs.records())
    texts = {text for table, one in records for text in texts_of(one, fates_of(table))}
    for change in theirs.changes:
        texts |= set(texts_of(change, REASON))
        for name, sides in change["changes"].items():
            told = [{name: one} for one in _sides(sides)]
            texts |= set(texts_of(told, fates_of(change["record_kind"])))
    places = [*(one.point for one in theirs.properties), *(bed.point for bed in theirs.beds)]
    points = [point for point in places if point is not None]
    of_changes = {one["record_id"] for one in theirs.changes if one["record_kind"] != "properties"}
    ids = {one.id for _, one in records} | of_changes
    return person_of(
        # A load tells of all whose grass is in it.
        ids - {load.id for load in theirs.loads},
        texts,
        set(_said_of_others(unit, theirs, texts)),
        [degrees for point in points for degrees in (point.latitude, point.longitude)],
    )


def _said_of_others(unit: UnitOfWork, theirs: Theirs, texts: set[str]) -> Iterator[str]:
    """Yield what others' records say, of some texts at least where few say any."""
    firm_id = theirs.client.firm_id
    own = {one.id for _, one in theirs.records()} | {change["id"] for change in theirs.changes}
    for table in BOOKS:
        for one in unit.repository(table).all(firm_id):
            if one.id not in own:
                yield from texts_of(one, fates_of(table))
    words = {text for text in texts if text}
    for table in ALSO_SAID_IN if words else ():
        fates = REASON if table == "amendments" else fates_of(table)
        columns = tuple(dict.fromkeys(("id", *(field.partition(".")[0] for field in fates))))
        for row in unit.kept_texts.read(firm_id, Wanted(table=table, words=words), columns):
            if row["id"] not in own:
                yield from texts_of(row, fates)


def _sides(sides: Any) -> list[Any]:  # noqa: ANN401 - a change as it is kept
    return list(sides) if isinstance(sides, list | tuple) else []
