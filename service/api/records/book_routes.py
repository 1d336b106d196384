"""The routes of books: list, read, create, amend, delete and history, the same for each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from flask import Response
from marshmallow import Schema

from service.api.contract.schemas import noun, page_schema
from service.api.exchange.amending import amendment_of, expected_version, reasoned
from service.api.exchange.completing import Completing
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.records.history import HISTORY_EXAMPLE, HistoryAnswer
from service.api.records.kept import CREATED, ETAG, created_answer, kept_answer
from service.api.records.lists import page_answer, page_asked, query_schema
from service.api.records.resource import Deletable, Readable, Resource, Writable
from service.core.callers.access import Act
from service.usecases.records.further_faults import FindFurtherFaults
from service.usecases.records.keep_records import KeepRecords


def book_routes(
    resource: Resource, books: KeepRecords[Any], door: Door, *, find: FindFurtherFaults
) -> Routes:
    """Return every route of a resource: list, read, create, amend, delete, history."""
    act = resource.act
    routes = Routes(resource.path, description=resource.about)
    add_reading(routes, resource, books, door)
    completing = Completing(find=find, shelf=books.shelf)
    add_creating(routes, resource, books, door, act=act, completing=completing)
    add_amending(routes, resource, books, door, act=act, completing=completing)
    add_deleting(routes, resource, books, door, act=act)
    return routes


def add_reading(
    routes: Routes,
    resource: Resource,
    books: Readable[Any],
    door: Door,
    *,
    example: Mapping[str, Any] | None = None,
) -> None:
    """Add the list, the single record and its history.

    Parameters
    ----------
    example
        A record as it is answered; None makes one of the resource's example.
    """
    if example is None:
        example = Example(resource.answer_example)
    add_listing(routes, resource, books, door, example=example)
    add_single(routes, resource, books, door, example=example)
    add_history(routes, resource, books, door)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What is told at once beside a record that was kept or amended, and how it is described."""

    schema: type[Schema]
    example: Mapping[str, Any]
    tell: Callable[[Asked, Any], Mapping[str, Any]]


def _answers(resource: Resource, beside: Beside | None) -> Schema:
    return resource.answer() if beside is None else beside.schema()


def _example(resource: Resource, beside: Beside | None) -> Example:
    more = {} if beside is None else beside.example
    return Example(lambda: {**resource.answer_example(), **more})


def add_listing(
    routes: Routes,
    resource: Resource,
    books: Readable[Any],
    door: Door,
    *,
    example: Mapping[str, Any],
) -> None:
    """Add the list of records, a page at a time."""

    def page() -> dict[str, Any]:
        known = resource.listed().fields
        listed = {name: value for name, value in example.items() if name in known}
        return {"items": [listed], "next": None}

    @routes.operation(
        "GET",
        f"/{resource.path}",
        name=f"list_{resource.many_word}",
        summary=f"List {resource.many}, ordered by id.",
    )
    @door.admits(resource.list_act)
    @routes.query(query_schema(noun(resource.fields), resource.filters))
    @routes.response(200, page_schema(resource.listed), example=Example(page))
    def list_records(asked: Asked, query: Mapping[str, Any]) -> dict[str, Any]:
        return page_answer(books.page(asked.caller, **page_asked(query)))


def add_single(
    routes: Routes,
    resource: Resource,
    books: Readable[Any],
    door: Door,
    *,
    example: Mapping[str, Any],
    may_answer: tuple[int, ...] = (),
) -> None:
    """Add the single record, with its ETag."""
    answers = resource.answer()

    @routes.operation(
        "GET",
        f"/{resource.path}/<uuid:record_id>",
        name=f"read_{resource.one_word}",
        summary=f"Read one {resource.one}.",
        may_answer=may_answer,
    )
    @door.admits(resource.read_act)
    @routes.response(200, answers, example=example, headers=ETAG)
    def read_record(asked: Asked, record_id: UUID) -> Response:
        return kept_answer(answers, books.read(asked.caller, record_id))


def add_history(routes: Routes, resource: Resource, books: Readable[Any], door: Door) -> None:
    """Add what was changed in a record."""

    @routes.operation(
        "GET",
        f"/{resource.path}/<uuid:record_id>/history",
        name=f"read_history_of_{resource.one_word}",
        summary=f"Read what was changed in one {resource.one}, oldest first.",
    )
    @door.admits(Act.READ)
    @routes.response(200, HistoryAnswer, example=HISTORY_EXAMPLE)
    def read_history(asked: Asked, record_id: UUID) -> dict[str, Any]:
        return {"items": books.history(asked.caller, record_id)}


def add_creating(
    routes: Routes,
    resource: Resource,
    books: Writable[Any],
    door: Door,
    *,
    act: Act,
    completing: Completing,
    beside: Beside | None = None,
) -> None:
    """Add the creation of one record, and what is told beside it."""
    answers = _answers(resource, beside)

    @routes.operation(
        "POST",
        f"/{resource.path}",
        name=f"create_{resource.one_word}",
        summary=f"Keep a new {resource.one}.",
    )
    @door.admits(act)
    @completing.around
    @routes.body(resource.new, example=resource.example)
    @routes.response(
        201,
        answers,
        example=_example(resource, beside),
        headers=CREATED,
    )
    def create_record(asked: Asked, values: Mapping[str, Any]) -> Response:
        record = books.create(asked.caller, values, identifiers=asked.identifiers)
        told = None if beside is None else beside.tell(asked, record)
        return created_answer(answers, record, path=resource.path, beside=told)


def add_amending(
    routes: Routes,
    resource: Resource,
    books: Writable[Any],
    door: Door,
    *,
    act: Act,
    completing: Completing,
    beside: Beside | None = None,
) -> None:
    """Add the amendment of one record by a merge patch, and what is told beside it."""
    answers, whole = _answers(resource, beside), resource.new()

    @routes.operation(
        "PATCH",
        f"/{resource.path}/<uuid:record_id>",
        name=f"amend_{resource.one_word}",
        summary=f"Amend one {resource.one}; what was before is kept in its history.",
        may_answer=resource.amending_may_answer,
    )
    @door.admits(act)
    @completing.around
    @routes.merge_patch(resource.changes, example=resource.changes_example)
    @routes.response(
        200,
        answers,
        example=_example(resource, beside),
        headers=ETAG,
    )
    def amend_record(asked: Asked, patch: dict[str, Any], record_id: UUID) -> Response:
        kept = books.read(asked.caller, record_id)
        amendment = amendment_of(patch, kept=kept, whole=whole, noun=resource.one)
        amended = books.amend(
            asked.caller,
            record_id,
            amendment.changes,
            expected_version=amendment.expected_version,
            reason=amendment.reason,
        )
        told = None if beside is None else beside.tell(asked, amended)
        return kept_answer(answers, amended, beside=told)


def add_deleting(
    routes: Routes, resource: Resource, books: Deletable[Any], door: Door, *, act: Act
) -> None:
    """Add the deletion of one record."""

    @routes.operation(
        "DELETE",
        f"/{resource.path}/<uuid:record_id>",
        name=f"delete_{resource.one_word}",
        summary=f"Delete one {resource.one} that nothing names any more.",
    )
    @door.admits(act)
    @reasoned
    @routes.response(204)
    def delete_record(asked: Asked, record_id: UUID, reason: str | None) -> Response:
        version = expected_version(books.read(asked.caller, record_id), noun=resource.one)
        books.delete(asked.caller, record_id, expected_version=version, reason=reason)
        return Response(status=204)
