"""Bars with their intervals, as numbers of a drawing: no script, no style inline."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

WIDTH: Final = 600.0
MARGIN: Final = 6.0
STEPS: Final = (1, 2, 2.5, 5, 10)
TICKS: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One row of a chart: a length, the span it is sure of, a point beside it, words."""

    label: str
    value: float
    told: str
    low: float | None = None
    high: float | None = None
    point: float | None = None
    is_grave: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnBar:
    """A row where it stands in the drawing."""

    bar: Bar
    width: float
    low: float | None
    high: float | None
    point: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A drawing of bars, with the marks of its scale and of a limit."""

    bars: tuple[DrawnBar, ...]
    ticks: tuple[tuple[float, str], ...]
    limit: float | None


def chart_of(bars: Sequence[Bar], *, limit: float | None = None) -> Chart:
    """Return a chart whose scale begins at nought, and holds all of it."""
    most = max(
        [limit or 0.0, *(max(bar.value, bar.high or 0.0, bar.point or 0.0) for bar in bars)],
        default=0.0,
    )
    step = _step(most)
    end = max(math.ceil(most / step), 1) * step
    room = WIDTH - 2 * MARGIN

    def at(value: float | None) -> float | None:
        return None if value is None else round(MARGIN + room * value / end, 1)

    return Chart(
        bars=tuple(
            DrawnBar(
                bar=bar,
                width=round(room * bar.value / end, 1),
                low=at(bar.low),
                high=at(bar.high),
                point=at(bar.point),
            )
            for bar in bars
        ),
        ticks=tuple(
            (at(step * number) or MARGIN, f"{step * number:g}")
            for number in range(round(end / step) + 1)
        ),
        limit=at(limit),
    )


def _step(most: float) -> float:
    """Return a round step of which a handful reach over the whole scale."""
    if most <= 0:
        return 1.0
    power: float = 10.0 ** math.floor(math.log10(most / TICKS))
    return next(step * power for step in STEPS if step * power * TICKS >= most * 0.999)
