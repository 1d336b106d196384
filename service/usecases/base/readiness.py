"""Tell whether the service can do its work: does the database answer, can it plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.core.errors import Refusal
from service.planning.arrays.compiled import PlannerAwaited, is_awaited
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.base.whose import NO_FIRM, working_for


class NotReady(Refusal):
    """The service cannot reach what it needs, or not work with it."""

    code = "not_ready"
    sentence = "{why}"


class CheckReady:
    """Ask the kept records one small question."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, probe: Callable[[], Sequence[str]] = tuple
    ) -> None:
        """Take the way to the records, and who tells what stands against working with them."""
        self._open = open_unit_of_work
        self._probe = probe

    def __call__(self) -> None:
        """Return if the records answer; whatever they raise instead rises.

        Raises
        ------
        NotReady
            If they answer, but cannot be worked with.
        PlannerAwaited
            If they answer, but the planner is still being compiled.
        """
        with working_for(NO_FIRM), self._open() as unit:
            unit.firms.get(NO_FIRM)
        against = self._probe()
        if against:
            raise NotReady(why=" ".join(against))
        if is_awaited():
            raise PlannerAwaited
