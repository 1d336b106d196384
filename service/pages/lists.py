"""Every list of the firm for a spreadsheet: as it is on record, with names beside the ids."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from dataclasses import fields, is_dataclass
from datetime import date, datetime, time
from io import TextIOWrapper
from tempfile import SpooledTemporaryFile
from typing import IO, Any, Final, TypeGuard, get_args, get_origin, get_type_hints
from uuid import UUID

from flask import Blueprint, Response

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.pages.day.screen import OFFICE
from service.pages.entrance import Entrance, Sitting
from service.pages.needs import Needs
from service.pages.rendering import HEADERS, page
from service.usecases.records.keep_records import KeepRecords
from service.usecases.telling.evening.cells import write_table
from service.usecases.telling.whole_books import WholeBooks

PLACE: Final = "/screens/lists"
# A longer table is written to a file on the way. Common practice, no source.
MOST_IN_MEMORY_BYTES: Final = 1_000_000
A_WRITE_BYTES: Final = 65_536
LISTS: Final = {
    "jobs": "Jobs",
    "loads": "Loads",
    "hold-entries": "What is held",
    "treatments": "Treatments of lawns",
    "vehicle-outages": "Vehicles that were out",
    "delivery-notes": "Delivery notes",
    "mass-movements": "The mass book",
    "clients": "Clients",
    "properties": "Properties",
    "lawns": "Lawns",
    "beds": "Beds",
    "depots": "Yards",
    "hold-bays": "Hold bays",
    "vehicles": "Vehicles",
    "crews": "Crews",
    "compost-sites": "Compost sites",
}
# What is no cell of a table: whole documents, and what says nothing to anybody outside.
LEFT_OUT: Final = frozenset({"firm_id", "content", "explanation", "factors", "sha256"})
NAMED: Final = {
    "crew_id": "crews",
    "vehicle_id": "vehicles",
    "released_with_id": "vehicles",
    "depot_id": "depots",
    "client_id": "clients",
    "property_id": "properties",
    "lawn_id": "lawns",
    "hold_bay_id": "hold_bays",
}


def list_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the page of lists, and each as a table."""
    routes = Blueprint("lists", __name__)

    @routes.get(PLACE)
    @entrance.admits(*OFFICE)
    def show_lists(sitting: Sitting) -> Response:
        return page("lists.html.j2", lists=LISTS, seat=sitting.session.seat)

    @routes.get(f"{PLACE}/<name>.csv")
    @entrance.admits(*OFFICE)
    def read_list(sitting: Sitting, name: str) -> Response:
        if name not in LISTS:
            raise RecordMissing(record="list", id=name)
        return _table(needs, sitting.caller, name)

    return routes


def _table(needs: Needs, caller: Caller, name: str) -> Response:
    """Return a list as a file, whole as it was at one moment, and never all of it in memory.

    Whoever fetches it may be slow: the records are let go before the first byte is sent.
    """
    book = _book(needs, name.replace("-", "_"))
    headings = list(_headings(book.shelf.record_type))
    with ExitStack() as until_written:
        file = until_written.enter_context(SpooledTemporaryFile(MOST_IN_MEMORY_BYTES))
        out = TextIOWrapper(file, encoding="utf-8-sig", newline="", write_through=True)
        with needs.read_whole_books(caller) as books:
            rows = _rows(needs, books, book)
            write_table(out, headings, ([row.get(h) for h in headings] for row in rows))
        out.detach()
        file.seek(0)
        until_written.pop_all()
    response = Response(_sent(file), mimetype="text/csv")
    response.headers.update(HEADERS)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response


def _sent(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        while some := file.read(A_WRITE_BYTES):
            yield some


def _rows(needs: Needs, books: WholeBooks, book: KeepRecords[Any]) -> Iterator[dict[str, object]]:
    names = _names(needs, books)
    for record in books.every(book):
        row = dict(_cells(record))
        for heading, named in NAMED.items():
            if row.get(heading) is not None:
                row[heading.removesuffix("_id")] = names(named).get(UUID(str(row[heading])), "")
        yield row


def _headings(record_type: type, prefix: str = "") -> Iterator[str]:
    """Yield the columns of a kind of record, whatever is on record of it."""
    hints = get_type_hints(record_type)
    for field in fields(record_type):
        if field.name in LEFT_OUT:
            continue
        heading = f"{prefix}{field.name}"
        inner = [
            kind for kind in (hints[field.name], *get_args(hints[field.name])) if _is_one(kind)
        ]
        if get_origin(hints[field.name]) is tuple or not inner:
            yield heading
            if heading in NAMED:
                yield heading.removesuffix("_id")
        else:
            found = (one for kind in inner for one in _headings(kind, f"{heading}_"))
            yield from dict.fromkeys(found)


def _is_one(kind: object) -> TypeGuard[type]:
    return isinstance(kind, type) and is_dataclass(kind)


def _book(needs: Needs, name: str) -> Any:
    if name == "jobs":
        return needs.record_jobs
    return getattr(needs.papers, name, None) or getattr(needs.library, name)


def _names(needs: Needs, books: WholeBooks) -> Any:
    """Return what tells names by id; each book is read once, and only if it is needed."""
    known: dict[str, Mapping[UUID, str]] = {}

    def of(book: str) -> Mapping[UUID, str]:
        if book not in known:
            known[book] = {
                one.id: getattr(one, "registration", None) or one.name
                for one in books.every(_book(needs, book))
            }
        return known[book]

    return of


def _cells(record: Any, prefix: str = "") -> Iterator[tuple[str, object]]:
    """Yield headings and cells of a record; a value of several parts has a column for each."""
    for field in fields(record):
        if field.name in LEFT_OUT:
            continue
        heading, value = f"{prefix}{field.name}", getattr(record, field.name)
        if is_dataclass(value):
            yield from _cells(value, f"{heading}_")
        else:
            yield heading, _plain(value)


def _plain(value: Any) -> object:
    match value:
        case datetime():
            plain: object = value.isoformat(timespec="seconds")
        case date() | time() | UUID():
            plain = str(value)
        case bool():
            plain = "yes" if value else "no"
        case tuple():
            plain = "; ".join(_part(part) for part in value)
        case dict():
            plain = "; ".join(f"{name}: {part}" for name, part in value.items())
        case _:
            plain = value
    return plain


def _part(value: Any) -> str:
    """Return a part of a cell that holds several, such as the lots of a load."""
    if not is_dataclass(value):
        return str(_plain(value))
    told = (str(cell) for _, cell in _cells(value) if cell is not None)
    return " ".join(told)
