"""Whether a composting process was hot for long enough to kill.

The requirements are law and live in the rules; what is here is the counting:
hours at or above a temperature, in readings of the coolest place.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from service.agronomy.estimates.validity import OutsideValidity, within

# Ends of the range of a heap and a probe.
_COLDEST_C: Final = -40.0
_HOTTEST_C: Final = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatStep:
    """One way to meet a requirement: so hot, for so long, turned so often.

    Parameters
    ----------
    name
        Name of the step, as the rules have it.
    temperature_c
        Least temperature [C], 40 to 100.
    hours
        Least time at or above it [h], above 0 to 2000.
    turnings
        Least number of turnings in that time, 0 to 100.
    consecutive
        Whether the time must be of one piece.
    """

    name: str
    temperature_c: float
    hours: float
    turnings: int
    consecutive: bool

    def __post_init__(self) -> None:
        """Refuse a step no rule has."""
        within("temperature_c", self.temperature_c, low=40, high=100, unit="C")
        within("hours", self.hours, low=1e-3, high=2000, unit="h")
        within("turnings", self.turnings, low=0, high=100, unit="1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """What a process lacked for one step.

    Parameters
    ----------
    step
        The step it was held against.
    hours_short
        Hours that were missing [h], >= 0.
    turnings_short
        Turnings that were missing, >= 0.
    """

    step: HeatStep
    hours_short: float
    turnings_short: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KillVerdict:
    """Whether a process met a requirement.

    Parameters
    ----------
    met_by
        The first step that was met; None if none was.
    shortfalls
        For each step that was not met, what was missing.
    """

    met_by: HeatStep | None
    shortfalls: tuple[Shortfall, ...]

    @property
    def met(self) -> bool:
        """Whether any of the steps was met."""
        return self.met_by is not None


def hours_at_or_above(
    readings: Sequence[tuple[float, float]],
    *,
    temperature_c: float,
    greatest_gap_hours: float,
    consecutive: bool,
) -> float:
    """Return the hours that readings show at or above a temperature.

    Parameters
    ----------
    readings
        Hour and temperature [h, C] of each reading of the coolest place, the
        hours increasing; temperatures -40 to 120.
    temperature_c
        Temperature asked about [C], -40 to 120.
    greatest_gap_hours
        Time between two readings over which nothing is taken for granted [h],
        above 0 to 1000: 24 where the rule asks for daily readings.
    consecutive
        True for the longest single piece, false for all pieces together.

    Returns
    -------
    float
        Hours [h], >= 0; 0 for fewer than two readings.

    Raises
    ------
    OutsideValidity
        If the hours do not increase or a temperature is impossible.

    Notes
    -----
    Straight lines between readings. A longer gap counts as cold: what nobody
    measured was not hot.

    References
    ----------
    [ccr-14-17868-3] daily readings.
    """
    within("temperature_c", temperature_c, low=_COLDEST_C, high=_HOTTEST_C, unit="C")
    within("greatest_gap_hours", greatest_gap_hours, low=1e-3, high=1000, unit="h")
    for _, reading_c in readings:
        within("reading", reading_c, low=_COLDEST_C, high=_HOTTEST_C, unit="C")
    total = longest = piece = 0.0
    for (hour, reading_c), (next_hour, next_c) in pairwise(readings):
        if not hour < next_hour:
            raise OutsideValidity(
                quantity="hour of a reading", value=next_hour, low=hour, high="later", unit="h"
            )
        hot = _hot_hours(next_hour - hour, reading_c, next_c, temperature_c)
        if next_hour - hour > greatest_gap_hours:
            hot = 0.0
        total += hot
        starts_hot, ends_hot = reading_c >= temperature_c, next_c >= temperature_c
        piece = piece + hot if starts_hot and hot > 0 else hot
        longest = max(longest, piece)
        if not ends_hot or hot == 0:
            piece = 0.0
    return longest if consecutive else total


def _hot_hours(hours: float, start_c: float, end_c: float, temperature_c: float) -> float:
    """Return the part of a straight line that lies at or above a temperature."""
    if start_c >= temperature_c and end_c >= temperature_c:
        return hours
    if start_c < temperature_c and end_c < temperature_c:
        return 0.0
    return hours * (max(start_c, end_c) - temperature_c) / abs(end_c - start_c)


def meets_requirement(
    readings: Sequence[tuple[float, float]],
    *,
    turnings: int,
    steps: Sequence[HeatStep],
    greatest_gap_hours: float,
) -> KillVerdict:
    """Return whether a process was hot for long enough by any of several steps.

    Parameters
    ----------
    readings
        Hour and temperature [h, C] of each reading of the coolest place, the
        hours increasing.
    turnings
        Turnings during the hot time, >= 0.
    steps
        The ways to meet the requirement; any one of them is enough. None at all
        is never met.
    greatest_gap_hours
        Time between two readings over which nothing is taken for granted [h].

    Returns
    -------
    KillVerdict
        The step that was met, or what each lacked.

    Raises
    ------
    OutsideValidity
        If the readings cannot be, or turnings are negative.

    Notes
    -----
    Says that a rule is met, not that nothing survived; plants that spread by
    root pieces and persistent herbicides are not killed by heat alone.

    References
    ----------
    The rule whose steps are given.
    """
    within("turnings", turnings, low=0, high=10_000, unit="1")
    shortfalls = []
    for step in steps:
        found = hours_at_or_above(
            readings,
            temperature_c=step.temperature_c,
            greatest_gap_hours=greatest_gap_hours,
            consecutive=step.consecutive,
        )
        hours_short = max(0.0, step.hours - found)
        turnings_short = max(0, step.turnings - turnings)
        if hours_short == 0 and turnings_short == 0:
            return KillVerdict(met_by=step, shortfalls=())
        shortfalls.append(
            Shortfall(step=step, hours_short=hours_short, turnings_short=turnings_short)
        )
    return KillVerdict(met_by=None, shortfalls=tuple(shortfalls))
