"""From the rows of a sheet to records: who is meant by a name, what is new, what is wrong."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.places import Point
from service.pages.needs import Needs
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.keep_together import NewRecord
from service.usecases.telling.whole_books import A_PAGE

Values = Mapping[str, Any]
Key = tuple[str, ...]


def every(books: KeepRecords[Any], caller: Caller, **filters: object) -> Iterator[Any]:
    """Yield all records of a book that match, however many pages they fill."""
    after = None
    while True:
        page = books.page(caller, filters=filters, after=after, limit=A_PAGE)
        yield from page.records
        after = page.next_after
        if after is None:
            return


def key_of(*names: str | None) -> Key:
    """Return names as they are compared: whoever types them again writes them otherwise."""
    return tuple(" ".join((name or "").split()).casefold() for name in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """A cell that cannot be kept as it is: its row, counted from 1 as spreadsheets do, and why."""

    row: int
    column: str
    detail: str


@dataclass(slots=True)
class Filing:
    """One sheet on its way into the books.

    ``already`` has the rows of what is on record; ``known`` the names of all that is on record or
    in a row before; ``said`` what those rows say of it, so that no row silently contradicts
    another.
    """

    needs: Needs
    caller: Caller
    found: list[NewRecord] = field(default_factory=list)
    faults: list[Wrong] = field(default_factory=list)
    already: dict[int, UUID] = field(default_factory=dict)
    known: dict[str, dict[Key, UUID]] = field(default_factory=dict)
    said: dict[UUID, tuple[int, dict[str, Any]]] = field(default_factory=dict)

    def names(self, repository: str) -> dict[Key, UUID]:
        """Return who is known in a book, by name."""
        if repository not in self.known:
            self.known[repository] = {
                _NAMES[repository](one): one.id
                for one in every(books_of(self.needs, repository), self.caller)
            }
        return self.known[repository]

    def wrong(self, row: int, column: str, detail: str) -> None:
        """Keep a fault."""
        self.faults.append(Wrong(row=row, column=column, detail=detail))

    def add(self, row: int, repository: str, key: Key, values: Values) -> UUID:
        """Add a record that is not known yet, and return its id."""
        record_id = self.needs.keep_together.next_id()
        self.names(repository)[key] = record_id
        own = dict(values)
        self.said[record_id] = (row, own)
        self.found.append(NewRecord(row=row, repository=repository, id=record_id, values=own))
        return record_id

    def add_once(self, row: int, column: str, repository: str, key: Key, values: Values) -> None:
        """Add a record; one on record stays as it is, and a second row of the same is a fault."""
        kept = self.names(repository).get(key)
        if kept is None:
            self.add(row, repository, key, values)
        elif kept in self.said:
            self.wrong(row, column, f"This is what row {self.said[kept][0]} says already.")
        else:
            self.already[row] = kept

    def owner(self, row: int, repository: str, key: Key, values: Values) -> UUID:
        """Return the client or place that a row is about: known, or from now on.

        What the row says of one that is known may be left out, and may not be something else.
        """
        kept = self.names(repository).get(key)
        if kept is None:
            return self.add(row, repository, key, values)
        before = self.said.get(kept)
        if before is None:
            record = books_of(self.needs, repository).read(self.caller, kept)
            said: Values = {name: getattr(record, name) for name in values}
            where = "On record"
        else:
            said, where = before[1], f"In row {before[0]}"
        for name, value in values.items():
            if before is not None and said.get(name) is None:
                before[1][name] = value  # the row before left it empty
            elif value is not None and name != "name" and value != said[name]:
                self.wrong(row, name, f"{where} it is {_shown(said[name])}; which is right?")
        return kept

    def named(self, row: int, column: str, repository: str, name: str | None) -> UUID | None:
        """Return the record that a cell names; a name that nobody has is a fault."""
        if name is None:
            return None
        kept = self.names(repository).get(key_of(name))
        if kept is None:
            self.wrong(row, column, f"Nothing of that name is on record: {name}.")
        return kept

    def yard(self, row: int, values: Values) -> UUID | None:
        """Return the yard a row is about; where there is one, nobody needs to name it."""
        if values.get("yard") is not None:
            return self.named(row, "yard", "depots", values["yard"])
        yards = list(self.names("depots").values())
        if len(yards) == 1:
            return yards[0]
        self.wrong(row, "yard", "First say where the yard is." if not yards else "Which yard?")
        return None


def name_of(repository: str, record: Any) -> Key:
    """Return what a record of a book is found by."""
    key: Key = _NAMES[repository](record)
    return key


def books_of(needs: Needs, repository: str) -> KeepRecords[Any]:
    """Return a book by its name."""
    books: KeepRecords[Any] = getattr(needs.library, repository)
    return books


def _shown(value: object) -> str:
    if isinstance(value, Point):
        return f"{value.latitude:g}, {value.longitude:g}"
    return "empty" if value in (None, "") else str(value)


def _by_name(record: Any) -> Key:
    return key_of(record.name)


def _of_client(record: Any) -> Key:
    return (str(record.client_id), *key_of(record.address))


def _of_place(record: Any) -> Key:
    return (str(record.property_id), *key_of(record.name))


def _of_registration(record: Any) -> Key:
    return key_of(record.registration)


_NAMES: Final[Mapping[str, Any]] = {
    "clients": _by_name,
    "depots": _by_name,
    "crews": _by_name,
    "compost_sites": _by_name,
    "hold_bays": _by_name,
    "vehicles": _of_registration,
    "properties": _of_client,
    "lawns": _of_place,
    "beds": _of_place,
}
