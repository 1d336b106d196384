"""Setting up: where a firm stands, a form for one record, a sheet for many."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller, Role
from service.core.callers.sessions import Seat
from service.core.errors import RecordMissing
from service.core.places import Point
from service.pages.entrance import Entrance, Sitting
from service.pages.feed_links import FEED_LASTS
from service.pages.needs import Needs
from service.pages.rendering import HEADERS, page
from service.pages.setup.cells import told_rows
from service.pages.setup.columns import read_asked
from service.pages.setup.differences import differences
from service.pages.setup.doubts import doubts_of
from service.pages.setup.filing import Filing, books_of, every, key_of
from service.pages.setup.groups import groups_of
from service.pages.setup.missing import steps_of
from service.pages.setup.sheet import Sheet
from service.pages.setup.sheet_text import Row, decoded, filed, keep, no_text, read_rows, written
from service.pages.setup.sheets import SHEETS

PLACE: Final = "/screens/setup"
OFFICE: Final = (Seat.DISPATCHER, Seat.OWNER)
A_PAGE: Final = 20
MOST_SHOWN: Final = 500
FED: Final = {"sites": "compost_site", "beds": "bed"}
UTC_ZONE: Final = ZoneInfo("UTC")
MOST_FAULTS: Final = 200
MOST_PINS: Final = 400
MONEY: Final = frozenset({"fee", "fee_minimum", "crew_hour"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A record as it is listed: what it is known by, what more is said of it with its heading."""

    record: Any
    known: tuple[str, ...]
    more: tuple[tuple[str, str], ...]
    cells: tuple[str, ...]


def setup_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the way from an empty firm to its first day."""
    routes = Blueprint("setup", __name__)
    office = entrance.admits(*OFFICE)

    @routes.get(PLACE)
    @office
    def show_steps(sitting: Sitting) -> Response:
        steps = steps_of(needs, sitting.caller)
        return page(
            "setup.html.j2",
            steps=steps,
            next=next((step for step in steps if step.is_needed and not step.is_done), None),
            firm=needs.keep_sessions.firm(sitting.caller.firm_id),
            is_owner=sitting.caller.role is Role.OWNER,
        )

    @routes.get(f"{PLACE}/<name>")
    @office
    def show_book(sitting: Sitting, name: str) -> Response:
        return _book_page(needs, sitting.caller, _sheet(name))

    @routes.post(f"{PLACE}/<name>")
    @office
    def keep_one(sitting: Sitting, name: str) -> AnyResponse:
        sheet = _sheet(name)
        cells = {column.name: request.form.get(column.name, "") for column in sheet.columns}
        for column in sheet.columns:
            if column.kind == "several":
                cells[column.name] = "; ".join(request.form.getlist(column.name))
        filing = filed(needs, sitting.caller, sheet, [Row(number=1, cells=cells)], read=read_asked)
        if filing.already:
            filing.wrong(1, sheet.columns[0].name, f"This {sheet.one} is on record already.")
        if filing.faults:
            return _book_page(needs, sitting.caller, sheet, filing=filing, cells=cells)
        keep(filing)
        return redirect(f"{PLACE}/{name}?kept=1", HTTPStatus.SEE_OTHER)

    @routes.post(f"{PLACE}/<name>/records/<uuid:record_id>/delete")
    @office
    def delete(sitting: Sitting, name: str, record_id: UUID) -> AnyResponse:
        books = books_of(needs, _sheet(name).repository)
        record = books.read(sitting.caller, record_id)
        books.delete(sitting.caller, record_id, expected_version=record.version)
        return redirect(f"{PLACE}/{name}", HTTPStatus.SEE_OTHER)

    _add_sheets(routes, needs, entrance)
    _add_end_of_feeds(routes, needs, entrance)
    return routes


def _add_end_of_feeds(routes: Blueprint, needs: Needs, entrance: Entrance) -> None:
    """Add the withdrawal of addresses."""

    @routes.post(f"{PLACE}/<name>/records/<uuid:record_id>/end-feeds")
    @entrance.admits(*OFFICE)
    def end_feeds(sitting: Sitting, name: str, record_id: UUID) -> AnyResponse:
        """End the addresses of a place's calendar; whoever should have one is given another."""
        if name not in FED:
            raise RecordMissing(record="feed", id=record_id)
        books = books_of(needs, _sheet(name).repository)
        record = books.read(sitting.caller, record_id)
        ended = {"feeds_ended_at": needs.look_at_day.now(UTC_ZONE)}
        books.amend(sitting.caller, record_id, ended, expected_version=record.version)
        return redirect(f"{PLACE}/{name}", HTTPStatus.SEE_OTHER)


def _add_sheets(routes: Blueprint, needs: Needs, entrance: Entrance) -> None:
    """Add what comes from a spreadsheet, and what goes to one."""
    office = entrance.admits(*OFFICE)

    @routes.post(f"{PLACE}/<name>/sheet")
    @office
    def take_sheet(sitting: Sitting, name: str) -> AnyResponse:
        """Try a sheet; keep it only if it is sent again with the word to keep it."""
        sheet = _sheet(name)
        sent = request.files.get("file")
        text = decoded(sent.read()) if sent is not None and sent.filename else ""
        is_text = text is not None
        text = text or request.form.get("text", "")
        rows, faults = read_rows(sheet, text) if is_text else ([], [no_text()])
        filing = filed(needs, sitting.caller, sheet, [] if faults else rows)
        filing.faults = [*faults, *filing.faults]
        wants_to_keep = "keep" in request.form and not filing.faults
        otherwise = differences(needs, sitting.caller, sheet, rows, filing)
        if wants_to_keep:
            keep(filing)
            if not otherwise:
                address = f"{PLACE}/{name}?kept={len(_rows_of(filing))}"
                return redirect(address, HTTPStatus.SEE_OTHER)
        return page(
            "setup_sheet.html.j2",
            status=_UNUSABLE if filing.faults else HTTPStatus.OK,
            sheet=sheet,
            text=text,
            rows=len(rows),
            fresh=len(_rows_of(filing)),
            already=len(filing.already),
            kept=wants_to_keep,
            doubts=doubts_of(filing)[:MOST_FAULTS],
            otherwise=otherwise[:MOST_FAULTS],
            more_otherwise=max(len(otherwise) - MOST_FAULTS, 0),
            faults=filing.faults[:MOST_FAULTS],
            more=max(len(filing.faults) - MOST_FAULTS, 0),
            labels={column.name: column.label for column in sheet.columns},
        )

    @routes.get(f"{PLACE}/<name>/empty.csv")
    @office
    def read_empty(sitting: Sitting, name: str) -> Response:  # noqa: ARG001 - the same for all
        sheet = _sheet(name)
        names = [column.name for column in sheet.columns]
        example = [column.example for column in sheet.columns]
        return table(f"{name}-empty.csv", written(names, [example]))

    @routes.get(f"{PLACE}/<name>.csv")
    @office
    def read_table(sitting: Sitting, name: str) -> Response:
        sheet = _sheet(name)
        rows = (list(cells.values()) for _, cells in told_rows(needs, sitting.caller, sheet))
        return table(f"{name}.csv", written([column.name for column in sheet.columns], rows))


_UNUSABLE: Final = HTTPStatus(422)


def table(name: str, text: str) -> Response:
    """Return a table as a file for a spreadsheet."""
    response = Response(text, mimetype="text/csv")
    response.headers.update(HEADERS)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _sheet(name: str) -> Sheet:
    sheet = SHEETS.get(name)
    if sheet is None:
        raise RecordMissing(record="book", id=name)
    return sheet


def _rows_of(filing: Filing) -> set[int]:
    return {one.row for one in filing.found}


def _book_page(
    needs: Needs,
    caller: Caller,
    sheet: Sheet,
    *,
    filing: Filing | None = None,
    cells: dict[str, str] | None = None,
) -> Response:
    currency = needs.keep_sessions.firm(caller.firm_id).currency
    every_row = [
        _shown(sheet, record, said, currency) for record, said in told_rows(needs, caller, sheet)
    ]
    find = request.args.get("find", "")
    rows = _found(every_row, find)
    pages = max(1, -(-len(rows) // A_PAGE))
    asked = request.args.get("page", "")
    number = min(max(int(asked), 1), pages) if asked.isdecimal() else 1
    kept = request.args.get("kept", "")
    now = needs.look_at_day.now(UTC_ZONE)
    faults = [] if filing is None else filing.faults
    return page(
        "setup_book.html.j2",
        status=_UNUSABLE if filing is not None else HTTPStatus.OK,
        sheet=sheet,
        rows=rows[(number - 1) * A_PAGE : number * A_PAGE],
        count=len(every_row),
        found=len(rows),
        find=find,
        number=number,
        pages=pages,
        cells=cells or {},
        faults=faults,
        groups=groups_of(sheet.columns, cells or {}, {one.column for one in faults}),
        labels={column.name: column.label for column in sheet.columns},
        kept=int(kept) if kept.isdecimal() else 0,
        steps=[(one.name, one.many) for one in SHEETS.values()],
        changed="changed" in request.args,
        calendar_of=partial(
            needs.feed_links.calendar, caller.firm_id, FED.get(sheet.name, sheet.name), now=now
        ),
        calendar_ends=(now + FEED_LASTS).date(),
        **choices_of(needs, caller),
    )


def _found(rows: list[Shown], find: str) -> list[Shown]:
    """Return the rows that say every word that is looked for, in the order of what they say."""
    (sought,) = key_of(find)
    told = [(key_of(*row.cells), row) for row in rows]
    fitting = [
        (key, row) for key, row in told if all(word in " ".join(key) for word in sought.split())
    ]
    return [row for _, row in sorted(fitting, key=lambda one: one[0])]


def choices_of(needs: Needs, caller: Caller) -> dict[str, Any]:
    """Return what forms offer: names to choose from, and points for a map."""
    return {
        "pins": _pins(needs, caller),
        "lists": {
            "vehicle": [one.registration for one in every(needs.library.vehicles, caller)],
            "client": [
                one.name for one in every(needs.library.clients, caller) if one.erased_at is None
            ][:MOST_SHOWN],
        },
    }


def _pins(needs: Needs, caller: Caller) -> list[dict[str, Any]]:
    """Return the firm's own points, which are all that a map here is drawn of."""
    library = needs.library
    found = [
        *(("depot", one) for one in every(library.depots, caller)),
        *(("compost_site", one) for one in every(library.compost_sites, caller)),
        *(("job", one) for one in every(library.properties, caller)),
    ]
    return [_pin(kind, one.name, one.point) for kind, one in found[:MOST_PINS]]


def _pin(kind: str, name: str, point: Point) -> dict[str, Any]:
    return {"kind": kind, "name": name, "at": [point.latitude, point.longitude]}


def _shown(sheet: Sheet, record: Any, said: Mapping[str, str], currency: str) -> Shown:
    """Return what a record says, each number with its unit, an area with the one it was told in."""
    told = []
    for column in sheet.in_list:
        text = column.shown(said[column.name])
        if column.name == "area":
            text = f"{text} {said['area_unit']}"
        elif column.name in MONEY and text:
            text = f"{currency} {float(said[column.name]):,.2f}"
        if text and column.name != "area_unit":
            told.append((column, text))
    return Shown(
        record=record,
        known=tuple(text for column, text in told if column.name in sheet.known_by),
        more=tuple(
            (column.title, text) for column, text in told if column.name not in sheet.known_by
        ),
        cells=tuple(text for _, text in told),
    )
