"""One transaction for many use cases: a whole day is kept at once, or not at all."""

from __future__ import annotations

from types import TracebackType
from typing import Any, Self, cast

from service.usecases.base.ports import OpenUnitOfWork, UnitOfWork


class Joined:
    """Stands in for a unit of work inside a larger one: its commit waits for the end."""

    def __init__(self, unit: UnitOfWork) -> None:
        """Take the larger unit of work, already entered."""
        self._unit = unit

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - repositories of every kind
        """Return what the larger unit of work has."""
        return getattr(self._unit, name)

    def __enter__(self) -> Self:
        """Begin nothing: the larger one has begun."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End nothing: the larger one will."""

    def commit(self) -> None:
        """Leave it to the larger one."""


def joining(unit: UnitOfWork) -> OpenUnitOfWork:
    """Return an opener of units of work that all take part in this one."""
    joined = cast("UnitOfWork", Joined(unit))
    return lambda: joined
