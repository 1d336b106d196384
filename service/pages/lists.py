"""Every list of the firm for a spreadsheet: as it is on record, with names beside the ids."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime, time
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.pages.day.screen import OFFICE
from service.pages.entrance import Entrance, Sitting
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.setup.filing import every
from service.pages.setup.screen import table
from service.pages.setup.sheet_text import written

PLACE: Final = "/screens/lists"
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
        rows = list(_rows(needs, sitting.caller, name.replace("-", "_")))
        headings = list(dict.fromkeys(heading for row in rows for heading in row))
        return table(
            f"{name}.csv", written(headings, ([row.get(h) for h in headings] for row in rows))
        )

    return routes


def _rows(needs: Needs, caller: Caller, name: str) -> Iterator[dict[str, object]]:
    names = _names(needs, caller)
    for record in every(_book(needs, name), caller):
        row: dict[str, object] = {}
        for heading, value in _cells(record):
            row[heading] = value
            book = NAMED.get(heading)
            if book is not None and value is not None:
                row[heading.removesuffix("_id")] = names(book).get(UUID(str(value)), "")
        yield row


def _book(needs: Needs, name: str) -> Any:
    if name == "jobs":
        return needs.record_jobs
    return getattr(needs.papers, name, None) or getattr(needs.library, name)


def _names(needs: Needs, caller: Caller) -> Any:
    """Return what tells names by id; each book is read once, and only if it is needed."""
    known: dict[str, Mapping[UUID, str]] = {}

    def of(book: str) -> Mapping[UUID, str]:
        if book not in known:
            known[book] = {
                one.id: getattr(one, "registration", None) or one.name
                for one in every(_book(needs, book), caller)
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
