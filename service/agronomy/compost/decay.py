"""What is left of clippings that were laid down earlier."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.agronomy.estimates.validity import within


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidLayer:
    """A layer that was put on a bed.

    Parameters
    ----------
    dry_matter_kg_per_m2
        Dry matter when it was laid [kg/m2], 0 to 100.
    age_days
        Days since [d], 0 to 3650.
    """

    dry_matter_kg_per_m2: float
    age_days: float

    def __post_init__(self) -> None:
        """Refuse a layer no bed has."""
        within("dry_matter_kg_per_m2", self.dry_matter_kg_per_m2, low=0, high=100, unit="kg/m2")
        within("age_days", self.age_days, low=0, high=3650, unit="d")


def decay_rate_per_day(*, lost_fraction: float, days: float) -> float:
    """Return the first-order rate that a measured loss stands for.

    Parameters
    ----------
    lost_fraction
        Part that was gone [kg/kg], 0 to below 1.
    days
        Time it took [d], above 0 to 3650.

    Returns
    -------
    float
        Rate [1/d].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    k = -ln(1 - loss) / t. The inverse of `remaining_fraction`. Litter decays
    fast first and slowly later, so a rate from a long trial is low for fresh
    matter and one from a short trial is high for old matter.

    References
    ----------
    [hamido-2016] and [kopp-guillard-2004] give losses to use it on.
    """
    within("lost_fraction", lost_fraction, low=0, high=1 - 1e-12, unit="1")
    within("days", days, low=1e-6, high=3650, unit="d")
    return -math.log1p(-lost_fraction) / days


def rate_at_temperature_per_day(
    *, rate_per_day: float, measured_at_c: float, temperature_c: float, ratio_per_10_c: float
) -> float:
    """Return a decay rate at another temperature than it was measured at.

    Parameters
    ----------
    rate_per_day
        Rate where it was measured [1/d], 0 to 1.
    measured_at_c
        Temperature there [C], 0 to 40.
    temperature_c
        Temperature wanted [C], -40 to 50; at and below 0 nothing decays.
    ratio_per_10_c
        Rate per rate at 10 C less (Q10) [1], 1 to 5.

    Returns
    -------
    float
        Rate [1/d].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    k = k0 Q10^((T - T0) / 10). None in frost, so that a winter keeps what it
    was given. Above 40 C see `uptake_temperature_factor`.

    References
    ----------
    [foley-1995] decay with a Q10 of 2.
    """
    within("rate_per_day", rate_per_day, low=0, high=1, unit="1/d")
    within("measured_at_c", measured_at_c, low=0, high=40, unit="C")
    within("temperature_c", temperature_c, low=-40, high=50, unit="C")
    within("ratio_per_10_c", ratio_per_10_c, low=1, high=5, unit="1")
    if temperature_c <= 0:
        return 0.0
    return float(rate_per_day * ratio_per_10_c ** ((temperature_c - measured_at_c) / 10))


def remaining_fraction(*, rate_per_day: float, days: float) -> float:
    """Return the part that is left after a time at one rate.

    Parameters
    ----------
    rate_per_day
        First-order rate [1/d], 0 to 10.
    days
        Time [d], 0 to 3650.

    Returns
    -------
    float
        Mass left per mass laid [kg/kg], 0 to 1.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    exp(-k t).

    References
    ----------
    [olson-1963] first-order decay of litter.
    """
    within("rate_per_day", rate_per_day, low=0, high=10, unit="1/d")
    within("days", days, low=0, high=3650, unit="d")
    return math.exp(-rate_per_day * days)


def remaining_after_days(
    daily_temperatures_c: Sequence[float],
    *,
    rate_per_day: float,
    measured_at_c: float,
    ratio_per_10_c: float,
) -> float:
    """Return the part that is left after days of known temperature.

    Parameters
    ----------
    daily_temperatures_c
        Mean temperature of each day since it was laid [C], -40 to 50.
    rate_per_day
        Rate where it was measured [1/d], 0 to 1.
    measured_at_c
        Temperature there [C], 0 to 40.
    ratio_per_10_c
        Rate per rate at 10 C less (Q10) [1], 1 to 5.

    Returns
    -------
    float
        Mass left per mass laid [kg/kg], 0 to 1; 1 for no days.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    exp(-sum of the daily rates).

    References
    ----------
    [olson-1963] first-order decay; [foley-1995] its temperature.
    """
    return math.exp(
        -math.fsum(
            rate_at_temperature_per_day(
                rate_per_day=rate_per_day,
                measured_at_c=measured_at_c,
                temperature_c=temperature_c,
                ratio_per_10_c=ratio_per_10_c,
            )
            for temperature_c in daily_temperatures_c
        )
    )


def dry_matter_left_kg_per_m2(layers: Sequence[LaidLayer], *, rate_per_day: float) -> float:
    """Return the dry matter that still lies on a bed.

    Parameters
    ----------
    layers
        What was laid and how long ago, in any order.
    rate_per_day
        First-order rate at the temperature of the time between [1/d], 0 to 10.

    Returns
    -------
    float
        Dry matter left [kg/m2]; 0 for a bare bed.

    Raises
    ------
    OutsideValidity
        If the rate lies outside its range.

    References
    ----------
    [olson-1963] first-order decay.
    """
    return math.fsum(
        layer.dry_matter_kg_per_m2
        * remaining_fraction(rate_per_day=rate_per_day, days=layer.age_days)
        for layer in layers
    )


def depth_left_mm(
    layers: Sequence[LaidLayer], *, rate_per_day: float, dry_density_kg_per_m3: float
) -> float:
    """Return the depth that still lies on a bed.

    Parameters
    ----------
    layers
        What was laid and how long ago, in any order.
    rate_per_day
        First-order rate at the temperature of the time between [1/d], 0 to 10.
    dry_density_kg_per_m3
        Dry matter per volume of the settled layer [kg/m3], 5 to 600.

    Returns
    -------
    float
        Depth [mm]; 0 for a bare bed.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    Dry matter left / dry density. Fresh clippings lose most of their water in
    days, so count dry matter, not fresh mass.

    References
    ----------
    [olson-1963] first-order decay.
    """
    within("dry_density_kg_per_m3", dry_density_kg_per_m3, low=5, high=600, unit="kg/m3")
    left_kg_per_m2 = dry_matter_left_kg_per_m2(layers, rate_per_day=rate_per_day)
    return left_kg_per_m2 / dry_density_kg_per_m3 * 1000
