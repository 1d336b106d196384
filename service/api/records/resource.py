"""Books over HTTP: one description a resource, and the same routes for each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol, TypeVar
from uuid import UUID

from marshmallow import Schema

from service.api.contract.examples import answer_example
from service.api.contract.schemas import (
    RecordFields,
    answer_schema,
    changes_schema,
    new_schema,
)
from service.api.fields import Strict
from service.core.callers.access import Act, Amendment, Caller
from service.core.records import Identifiers, Record
from service.usecases.base.ports.unit_of_work import Page

AnyKept = TypeVar("AnyKept", bound=Record)


class Readable(Protocol[AnyKept]):
    """What reading asks of the use cases."""

    def read(self, caller: Caller, record_id: UUID, /) -> AnyKept:
        """Return a record."""
        ...

    def page(
        self,
        caller: Caller,
        *,
        filters: Mapping[str, object],
        after: UUID | None = None,
        limit: int = 50,
    ) -> Page[AnyKept]:
        """Return a page of records."""
        ...

    def history(self, caller: Caller, record_id: UUID, /) -> list[Amendment]:
        """Return the changes of a record."""
        ...


class Writable(Readable[AnyKept], Protocol[AnyKept]):
    """What creating and amending ask of the use cases."""

    def create(
        self, caller: Caller, values: Mapping[str, Any], *, identifiers: Identifiers | None = None
    ) -> AnyKept:
        """Keep a new record."""
        ...

    def amend(
        self,
        caller: Caller,
        record_id: UUID,
        changes: Mapping[str, Any],
        /,
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> AnyKept:
        """Write a new version."""
        ...


class Deletable(Writable[AnyKept], Protocol[AnyKept]):
    """What deleting asks of the use cases."""

    def delete(
        self,
        caller: Caller,
        record_id: UUID,
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> None:
        """Delete a record."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Resource:
    """How one kind of record stands in the API.

    Attributes
    ----------
    path
        Its place, such as ``compost-sites``.
    one, many
        What it is called in sentences.
    about
        What it is, for the contract.
    fields
        What a caller writes.
    answered
        What only the service writes.
    filters
        Query parameters of the list.
    example
        A body that can be posted.
    changes_example
        A merge patch that can be sent.
    worked_out
        What the service adds to the example.
    own_id
        Whether a caller may make the id of a new record.
    summary
        The schema of one in a list, where the whole is too much.
    amending_may_answer
        Statuses that an amendment may have beside those of all books.
    act, read_act, list_act
        What writing one, reading one and listing them is, as far as roles care.
    """

    path: str
    one: str
    many: str
    about: str
    fields: type[RecordFields]
    answered: tuple[type[Schema], ...] = ()
    filters: Mapping[str, Strict] = field(default_factory=dict)
    example: Mapping[str, Any] = field(default_factory=dict)
    changes_example: Mapping[str, Any] = field(default_factory=dict)
    amending_may_answer: tuple[int, ...] = ()
    worked_out: Mapping[str, Any] = field(default_factory=dict)
    own_id: bool = False
    summary: type[Schema] | None = None
    act: Act = Act.KEEP_BOOKS
    read_act: Act = Act.READ
    list_act: Act = Act.READ

    @property
    def new(self) -> type[Schema]:
        """The schema of the body that creates one."""
        return new_schema(self.fields, own_id=self.own_id)

    @property
    def changes(self) -> type[Schema]:
        """The schema of a merge patch."""
        return changes_schema(self.fields)

    @property
    def answer(self) -> type[Schema]:
        """The schema of one in an answer."""
        return answer_schema(self.fields, *self.answered)

    def answer_example(self) -> dict[str, Any]:
        """Return what the service answers when the example was posted."""
        return answer_example(self.fields, self.answer(), self.example, **self.worked_out)

    @property
    def listed(self) -> type[Schema]:
        """The schema of one in a list."""
        return self.summary or self.answer

    @property
    def one_word(self) -> str:
        """One of them in the names of operations."""
        return self.one.replace(" ", "_")

    @property
    def many_word(self) -> str:
        """Many of them in the names of operations."""
        return self.many.replace(" ", "_")
