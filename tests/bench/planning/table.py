"""One line a way of planning a day: what it costs, how far that is from the bound, how long."""

from __future__ import annotations

import dataclasses
import json
from dataclasses import dataclass

from service.planning.arrays.tables import Tables
from service.planning.checker.check import check_plan
from service.planning.model.faults import Fault
from service.planning.model.result import Plan, Work
from service.planning.outcome.assembly import Bound, write_answer
from service.planning.tip_plans.columns import Column

HEADER = (
    "day   way             cost    bound     o/oo    cpu s ( clock)    MB  how the cost is known"
)
REPLAYED = "replayed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """How one way planned a day. What is not known is None.

    ``cost_cents`` and ``bound_cents`` are of disposal, that is beyond the same job lists with no
    tips; ``known`` says how the cost is known. ``legal`` is true if the checker found nothing,
    ``cut`` if the clock ended it: its seconds are then those it was given.
    """

    way: str
    cost_cents: int | None = None
    bound_cents: int | None = None
    processor_s: float = 0.0
    clock_s: float = 0.0
    megabytes: float | None = None
    known: str = REPLAYED
    legal: bool = False
    cut: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """All ways of planning one day; the gap is told against ``bound_cents``, for all the same."""

    day: str
    jobs: int
    bound_cents: int
    rows: tuple[Row, ...]

    def to_text(self) -> str:
        """Return the group as one line of JSON."""
        return json.dumps(dataclasses.asdict(self))

    @classmethod
    def from_text(cls, text: str) -> Group:
        """Return the group that a line of JSON describes."""
        document = json.loads(text)
        return cls(**{**document, "rows": tuple(Row(**row) for row in document["rows"])})

    def row(self, way: str) -> Row:
        """Return the row of a way."""
        return next(row for row in self.rows if row.way == way)

    def lines(self) -> list[str]:
        """Return the group's lines; what cannot be true is said behind the figure."""
        legal = [row.cost_cents for row in self.rows if row.legal and row.cost_cents is not None]
        least = min(legal, default=None)
        return [
            f"{self.day if number == 0 else '':5} {self._line(row, least)}"
            for number, row in enumerate(self.rows)
        ]

    def _line(self, row: Row, least: int | None) -> str:
        known = row.known
        if row.cost_cents is not None and not row.legal and row.cost_cents < self.bound_cents:
            known += "; no legal plan costs so little"
        if row.bound_cents is not None and least is not None and row.bound_cents > least:
            known += "; its bound is false, a legal plan costs less"
        gap = None
        if row.cost_cents is not None:
            gap = 1000 * (row.cost_cents - self.bound_cents) / max(1, row.cost_cents)
        return (
            f"{row.way:12.12} {_money(row.cost_cents)} {_money(row.bound_cents)} "
            f"{_blank(gap, '8.2f', 8)} {row.processor_s:8.2f} ({row.clock_s:6.2f}) "
            f"{_blank(row.megabytes, '5.0f', 5)}  {known}"
        )


def _money(amount_cents: int | None) -> str:
    """Return money in whole units of the currency."""
    return _blank(None if amount_cents is None else amount_cents / 100, "8.0f", 8)


def _blank(number: float | None, form: str, width: int) -> str:
    return " " * (width - 1) + "-" if number is None else format(number, form)


def judged(tables: Tables, columns: list[Column]) -> tuple[Plan, list[Fault]]:
    """Return the plan that tip plans come to, and what the independent checker says of it.

    The checker replays every stop and every cost; a plan it finds nothing wrong with costs what
    it says.
    """
    plan = write_answer(
        tables,
        columns,
        bound=Bound(units=0, proven=False, scope="none"),
        prices={},
        work=Work(seed=0),
    )
    return plan, check_plan(tables.problem, plan)


def told(faults: list[Fault]) -> str:
    """Return how a replayed cost is known: with the first fault, if there are any."""
    if not faults:
        return REPLAYED
    more = f" and {len(faults) - 1} more" if len(faults) > 1 else ""
    return f"replayed, NOT LEGAL: {faults[0]}{more}"
