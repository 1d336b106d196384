"""A transaction, and several verbs in one: what each keeps is kept when all of them are done."""

from __future__ import annotations

from collections.abc import Callable
from types import TracebackType
from typing import Any, Generic, Protocol, Self, TypeVar, cast


class Part(Protocol):
    """A part of a transaction that is rolled back by itself, or stays in the whole."""

    def commit(self) -> None:
        """Let it stay, if the whole is committed."""
        ...

    def rollback(self) -> None:
        """Take back what was done since it began."""
        ...


class Transaction(Protocol):
    """Leaving without commit() rolls back."""

    def __enter__(self) -> Self:
        """Begin."""
        ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Roll back what was not committed."""
        ...

    def commit(self) -> None:
        """Keep everything done since entering."""
        ...

    def begin_part(self) -> Part:
        """Begin a part that can be rolled back by itself."""
        ...


AnyUnit = TypeVar("AnyUnit", bound=Transaction)


class Joined(Generic[AnyUnit]):
    """Opens units that are parts of one that is open already: none of them ends it.

    ``afterwards`` is what a verb would do in a unit of its own once its work is committed: whoever
    commits the whole does it then.
    """

    def __init__(self, unit: AnyUnit, afterwards: list[Callable[[], None]]) -> None:
        """Take the open unit, and where to write down what is to be done afterwards."""
        self._unit = unit
        self.afterwards = afterwards

    def writing(self) -> AnyUnit:
        """Return a part that, as any unit, is rolled back if it is left without commit()."""
        return cast("AnyUnit", _Joining(self._unit, is_undone_alone=True))

    def reading(self) -> AnyUnit:
        """Return a part that only reads: it sees what was written before it in the whole."""
        return cast("AnyUnit", _Joining(self._unit, is_undone_alone=False))


class _Joining:
    """The open unit, as a verb sees it that believes it has one of its own."""

    def __init__(self, unit: Transaction, *, is_undone_alone: bool) -> None:
        self._unit = unit
        self._is_undone_alone = is_undone_alone
        self._part: Part | None = None

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the unit has
        return getattr(self._unit, name)

    def __enter__(self) -> Self:
        if self._is_undone_alone:
            self._part = self._unit.begin_part()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        part, self._part = self._part, None
        if part is not None:
            part.rollback()

    def commit(self) -> None:
        part, self._part = self._part, None
        if part is not None:
            part.commit()
