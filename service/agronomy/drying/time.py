"""How long cut grass takes to dry: from a rate, a forecast, or common practice."""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from service.agronomy.estimates.validity import within

# The rate was fitted between 80 and 20 % water, [rotz-chen-1985].
MEASURED_FROM_MOISTURE: Final = 0.80
DRIEST_MOISTURE: Final = 0.20


class DryingBasis(StrEnum):
    """What a drying time rests on."""

    WEATHER = "weather"
    PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingTime:
    """How long it takes, and what that rests on.

    Parameters
    ----------
    low_hours, likely_hours, high_hours
        Hours of drying weather [h], in order.
    basis
        The weather, or common practice where the weather is unknown.
    extrapolated
        Whether it started wetter than the measurements did.
    """

    low_hours: float
    likely_hours: float
    high_hours: float
    basis: DryingBasis
    extrapolated: bool


def dry_basis(moisture: float) -> float:
    """Return the water per dry matter of a moisture.

    Parameters
    ----------
    moisture
        Water per fresh mass [kg/kg], 0 to 0.95.

    Returns
    -------
    float
        Water per dry matter [kg/kg].

    Raises
    ------
    OutsideValidity
        If the moisture lies outside its range.

    Notes
    -----
    M / (1 - M).

    References
    ----------
    Definition; no source needed.
    """
    within("moisture", moisture, low=0, high=0.95, unit="1")
    return moisture / (1 - moisture)


def hours_to_moisture(*, moisture: float, goal_moisture: float, rate_per_h: float) -> float:
    """Return the hours to a moisture at one rate.

    Parameters
    ----------
    moisture
        Water per fresh mass at the start [kg/kg], the goal to 0.90.
    goal_moisture
        Water per fresh mass wanted [kg/kg], 0.20 to 0.90.
    rate_per_h
        Drying rate constant [1/h], above 0 to 1.

    Returns
    -------
    float
        Hours of such weather [h]; 0 if it is dry enough already.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range; below 0.20 dry matter holds its
        water and the exponential no longer describes it.

    Notes
    -----
    On the dry basis M falls as exp(-D t): t = ln(M0 / M) / D.

    References
    ----------
    [rotz-chen-1985] equation 2.
    """
    within("goal_moisture", goal_moisture, low=DRIEST_MOISTURE, high=0.90, unit="1")
    within("moisture", moisture, low=goal_moisture, high=0.90, unit="1")
    within("rate_per_h", rate_per_h, low=1e-6, high=1, unit="1/h")
    return math.log(dry_basis(moisture) / dry_basis(goal_moisture)) / rate_per_h


def drying_time(
    *,
    moisture: float,
    goal_moisture: float,
    rate_per_h: float | None,
    spread: float,
    practice_hours: tuple[float, float, float],
) -> DryingTime:
    """Return a drying time with its range, from the weather or from practice.

    Parameters
    ----------
    moisture
        Water per fresh mass at the start [kg/kg], the goal to 0.90.
    goal_moisture
        Water per fresh mass wanted [kg/kg], 0.20 to 0.90.
    rate_per_h
        Drying rate constant [1/h], above 0 to 1; None where the weather is
        unknown.
    spread
        Ratio of the high to the likely, and of the likely to the low, 1 to 5.
    practice_hours
        Low, likely and high hours where the weather is unknown [h], in order:
        "a few hours", common practice, no source.

    Returns
    -------
    DryingTime
        The hours and their basis.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    References
    ----------
    [rotz-chen-1985] the weather; [common-practice] the fallback.
    """
    within("spread", spread, low=1, high=5, unit="1")
    if rate_per_h is None:
        low, likely, high = practice_hours
        within("high practice hours", high, low=0, high=1000, unit="h")
        within("likely practice hours", likely, low=0, high=high, unit="h")
        within("low practice hours", low, low=0, high=likely, unit="h")
        return DryingTime(
            low_hours=low,
            likely_hours=likely,
            high_hours=high,
            basis=DryingBasis.PRACTICE,
            extrapolated=False,
        )
    hours = hours_to_moisture(moisture=moisture, goal_moisture=goal_moisture, rate_per_h=rate_per_h)
    return DryingTime(
        low_hours=hours / spread,
        likely_hours=hours,
        high_hours=hours * spread,
        basis=DryingBasis.WEATHER,
        extrapolated=moisture > MEASURED_FROM_MOISTURE,
    )
