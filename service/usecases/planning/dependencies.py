"""What every use case needs that plans days, whether it keeps the plan or only tells it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, replace

from service.planning.model.stop_rule import StopRule
from service.rules.lookup import Rulebook
from service.usecases.base.ports.travel import Distances
from service.usecases.base.use_cases import Changing
from service.usecases.planning.planner import DayPlanner

# A rule, or what gives the one of the moment.
Stop = StopRule | Callable[[], StopRule]
StillWanted = Callable[[], None]
_STILL_WANTED: ContextVar[StillWanted | None] = ContextVar("still_wanted", default=None)


@contextmanager
def while_wanted(still_wanted: StillWanted) -> Iterator[None]:
    """Have planning ask whether it is still wanted, until the block ends: what raises ends it."""
    before = _STILL_WANTED.set(still_wanted)
    try:
        yield
    finally:
        _STILL_WANTED.reset(before)


@dataclass(frozen=True, kw_only=True, eq=False)
class DayPlanning(Changing):
    """Has the records, the clock, the rules and a way to make a day.

    Attributes
    ----------
    stop
        How long the planner may look.
    """

    rulebook: Rulebook
    distances: Distances
    stop: Stop

    @property
    def _make_day(self) -> DayPlanner:
        return DayPlanner(rulebook=self.rulebook, distances=self.distances)

    @property
    def _stop(self) -> StopRule:
        """How long the planner may look, from now."""
        stop = self.stop() if callable(self.stop) else self.stop
        return replace(stop, still_wanted=_STILL_WANTED.get())
