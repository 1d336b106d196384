"""A record's own form: what is on record stands in it, and what was changed there is amended."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.errors import RecordMissing, RecordNotUsable, VersionOvertaken
from service.pages.entrance import Entrance, Sitting
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.setup.cells import told_cells
from service.pages.setup.changes import EDITS, ROW, Edit, changes_of
from service.pages.setup.columns import CellFault, Column, read_asked, read_cell
from service.pages.setup.filing import Filing, books_of, name_of
from service.pages.setup.groups import groups_of
from service.pages.setup.screen import OFFICE, PLACE, choices_of
from service.pages.setup.sheet_text import COLUMN_OF

# What stood in a cell when the form was opened: against that is told what somebody changed.
WAS: Final = "was-"
LONGEST_REASON: Final = 500
_UNUSABLE: Final = HTTPStatus(422)

Cells = dict[str, str]


@dataclass(slots=True, kw_only=True)
class Opened:
    """A record's form as somebody has it before them."""

    edit: Edit
    record: Any
    kept: Cells
    was: Cells
    cells: Cells
    reason: str = ""
    faults: list[Any] = field(default_factory=list)
    overtaken: bool = False
    unchanged: bool = False

    @property
    def columns(self) -> tuple[Column, ...]:
        """The fields; what the form cannot show, as of hours of several kinds, may stay empty."""
        return tuple(
            replace(column, required=column.required and bool(self.kept[column.name]))
            for column in self.edit.columns
        )

    @property
    def changed(self) -> frozenset[str]:
        """The cells that somebody changed since the form was opened."""
        return frozenset(
            column.name
            for column in self.edit.columns
            if not _is_same(column, self.cells[column.name], self.was[column.name])
        )

    @property
    def news(self) -> list[tuple[Column, str, str]]:
        """What stands otherwise on record now: the field, what is there, and what was written."""
        return [
            (column, self.kept[column.name], self.cells[column.name])
            for column in self.edit.columns
            if not _is_same(column, self.kept[column.name], self.was[column.name])
        ]


def edit_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the forms in which records are changed."""
    routes = Blueprint("editing", __name__)
    office = entrance.admits(*OFFICE)

    @routes.get(f"{PLACE}/<name>/records/<uuid:record_id>")
    @office
    def show_record(sitting: Sitting, name: str, record_id: UUID) -> Response:
        opened = _opened(needs, sitting.caller, _edit(name), record_id)
        return _record_page(needs, sitting.caller, name, opened)

    @routes.post(f"{PLACE}/<name>/records/<uuid:record_id>")
    @office
    def change_record(sitting: Sitting, name: str, record_id: UUID) -> AnyResponse:
        """Amend what was changed; if somebody else did meanwhile, say so and keep nothing."""
        caller, edit = sitting.caller, _edit(name)
        opened = _opened(needs, caller, edit, record_id, sent=True)
        if str(opened.record.version) != request.form.get("version"):
            return _overtaken(needs, caller, name, opened)
        changes = _changes(needs, caller, opened)
        if opened.faults or not changes:
            opened.unchanged = not opened.faults
            return _record_page(needs, caller, name, opened)
        try:
            books_of(needs, edit.repository).amend(
                caller,
                record_id,
                changes,
                expected_version=opened.record.version,
                reason=opened.reason or None,
            )
        except VersionOvertaken:
            again = _opened(needs, caller, edit, record_id, sent=True)
            return _overtaken(needs, caller, name, again)
        except RecordNotUsable as refusal:
            filing = Filing(needs, caller)
            for fault in refusal.faults:
                path = fault.pointer.strip("/").split("/")
                filing.wrong(ROW, COLUMN_OF.get("/".join(path[:2]), path[0]), fault.detail)
            opened.faults = filing.faults
            return _record_page(needs, caller, name, opened)
        return redirect(f"{PLACE}/{edit.sheet.name}?changed=1", HTTPStatus.SEE_OTHER)

    return routes


def _edit(name: str) -> Edit:
    edit = EDITS.get(name)
    if edit is None:
        raise RecordMissing(record="book", id=name)
    return edit


def _opened(
    needs: Needs, caller: Caller, edit: Edit, record_id: UUID, *, sent: bool = False
) -> Opened:
    """Return a record's form: as it is on record, or as it was sent. Raises RecordMissing."""
    record = books_of(needs, edit.repository).read(caller, record_id)
    kept = told_cells(needs, caller, record, edit.columns)
    if not sent:
        return Opened(edit=edit, record=record, kept=kept, was=kept, cells=kept)
    return Opened(
        edit=edit,
        record=record,
        kept=kept,
        was={column.name: _was(column, kept) for column in edit.columns},
        cells={column.name: _sent(column) for column in edit.columns},
        reason=request.form.get("reason", "").strip()[:LONGEST_REASON],
    )


def _was(column: Column, kept: Mapping[str, str]) -> str:
    return request.form.get(f"{WAS}{column.name}", kept[column.name])


def _sent(column: Column) -> str:
    if column.kind == "several":
        return "; ".join(request.form.getlist(column.name))
    return request.form.get(column.name, "")


def _changes(needs: Needs, caller: Caller, opened: Opened) -> dict[str, Any]:
    """Return the changes of the record; whatever is wrong with any of them is kept with it."""
    filing, changed = Filing(needs, caller), opened.changed
    values: dict[str, Any] = {}
    for column in opened.columns:
        try:
            values[column.name] = read_asked(
                column, opened.cells[column.name], printed=opened.was[column.name]
            )
        except CellFault as fault:
            values[column.name] = None
            filing.wrong(ROW, column.name, str(fault))
    changes: dict[str, Any] = {}
    if not filing.faults:
        changes = changes_of(
            opened.record, values, changed, filing, repository=opened.edit.repository
        )
    if changes and not filing.faults:
        repository = opened.edit.repository
        key = name_of(repository, replace(opened.record, **changes))
        if filing.names(repository).get(key, opened.record.id) != opened.record.id:
            what = f"This {opened.edit.one} is on record already."
            filing.wrong(ROW, next(c.name for c in opened.columns if c.name in changed), what)
    opened.faults = filing.faults
    return changes


def _is_same(column: Column, text: str, other: str) -> bool:
    """Return whether two cells say the same, however they are written."""
    optional = replace(column, required=False)
    try:
        one, two = (read_cell(optional, cell.replace("\r\n", "\n")) for cell in (text, other))
    except CellFault:
        return text == other
    is_several = isinstance(one, tuple) and isinstance(two, tuple)
    return set(one) == set(two) if is_several else bool(one == two)


def _overtaken(needs: Needs, caller: Caller, name: str, opened: Opened) -> Response:
    """Return the form with both words: what somebody did not touch is as it is on record now."""
    opened.overtaken = True
    told = opened.news
    changed = opened.changed
    opened.cells = {
        cell: opened.cells[cell] if cell in changed else kept for cell, kept in opened.kept.items()
    }
    opened.was = opened.kept
    return _record_page(
        needs,
        caller,
        name,
        opened,
        news=[
            (column, now, yours if column.name in changed else None) for column, now, yours in told
        ],
    )


def _record_page(
    needs: Needs,
    caller: Caller,
    name: str,
    opened: Opened,
    *,
    news: list[tuple[Column, str, str | None]] | None = None,
) -> Response:
    status = HTTPStatus.OK
    if opened.overtaken:
        status = HTTPStatus.PRECONDITION_FAILED
    elif opened.faults:
        status = _UNUSABLE
    return page(
        "setup_record.html.j2",
        status=status,
        name=name,
        opened=opened,
        cells=opened.cells,
        groups=groups_of(opened.columns, opened.cells, {fault.column for fault in opened.faults}),
        news=news or [],
        labels={column.name: column.label for column in opened.edit.columns},
        **choices_of(needs, caller),
    )
