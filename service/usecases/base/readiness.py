"""Tell whether the service can do its work: does the database answer, can it plan."""

from __future__ import annotations

from uuid import UUID

from service.planning.arrays.compiled import PlannerAwaited, is_awaited
from service.usecases.base.ports import OpenUnitOfWork

NOBODY = UUID(int=0)


class CheckReady:
    """Ask the kept records one small question."""

    def __init__(self, *, open_unit_of_work: OpenUnitOfWork) -> None:
        """Take the way to the records."""
        self._open = open_unit_of_work

    def __call__(self) -> None:
        """Return if the records answer; whatever they raise instead rises.

        Raises
        ------
        PlannerAwaited
            If they answer, but the planner is still being compiled.
        """
        with self._open() as unit:
            unit.firms.get(NOBODY)
        if is_awaited():
            raise PlannerAwaited
