"""How much water the air holds, and how much more it can take."""

import math
from typing import Final

from service.agronomy.estimates.validity import OutsideValidity, within

# Tetens' constants as printed in [allen-1998-fao56], equation 11.
_VAPOUR_AT_ZERO_KPA: Final = 0.6108
_VAPOUR_SLOPE: Final = 17.27
_VAPOUR_OFFSET_C: Final = 237.3
# Psychrometer constants per kPa and K as printed in [allen-1998-fao56], equation 16.
PSYCHROMETER_VENTILATED: Final = 0.000662
PSYCHROMETER_NATURAL: Final = 0.000800
# Ends of the range of weather.
_COLDEST_C: Final = -40.0
_HOTTEST_C: Final = 60.0


def saturation_vapour_pressure_kpa(temperature_c: float) -> float:
    """Return the vapour pressure of air that is saturated over water.

    Parameters
    ----------
    temperature_c
        Air temperature [C], -40 to 60.

    Returns
    -------
    float
        Saturation vapour pressure [kPa].

    Raises
    ------
    OutsideValidity
        If the temperature lies outside the range.

    Notes
    -----
    0.6108 exp(17.27 T / (T + 237.3)), over water also below freezing.

    References
    ----------
    [allen-1998-fao56] equation 11.
    """
    within("temperature_c", temperature_c, low=_COLDEST_C, high=_HOTTEST_C, unit="C")
    return _VAPOUR_AT_ZERO_KPA * math.exp(
        _VAPOUR_SLOPE * temperature_c / (temperature_c + _VAPOUR_OFFSET_C)
    )


def mean_saturation_vapour_pressure_kpa(
    *, minimum_temperature_c: float, maximum_temperature_c: float
) -> float:
    """Return the mean saturation vapour pressure of a day.

    Parameters
    ----------
    minimum_temperature_c, maximum_temperature_c
        Lowest and highest air temperature of the day [C], -40 to 60, in order.

    Returns
    -------
    float
        Mean of the pressures at the two ends [kPa].

    Raises
    ------
    OutsideValidity
        If a temperature lies outside the range or the minimum is above the maximum.

    References
    ----------
    [allen-1998-fao56] equation 12.
    """
    within(
        "minimum_temperature_c",
        minimum_temperature_c,
        low=_COLDEST_C,
        high=maximum_temperature_c,
        unit="C",
    )
    return (
        saturation_vapour_pressure_kpa(minimum_temperature_c)
        + saturation_vapour_pressure_kpa(maximum_temperature_c)
    ) / 2


def vapour_pressure_slope_kpa_per_c(temperature_c: float) -> float:
    """Return the slope of the saturation vapour pressure curve.

    Parameters
    ----------
    temperature_c
        Air temperature [C], -40 to 60.

    Returns
    -------
    float
        Slope [kPa/C].

    Raises
    ------
    OutsideValidity
        If the temperature lies outside the range.

    Notes
    -----
    17.27 x 237.3 e / (T + 237.3)^2; the source prints 4098 for the product.

    References
    ----------
    [allen-1998-fao56] equation 13.
    """
    pressure_kpa = saturation_vapour_pressure_kpa(temperature_c)
    return _VAPOUR_SLOPE * _VAPOUR_OFFSET_C * pressure_kpa / (temperature_c + _VAPOUR_OFFSET_C) ** 2


def vapour_pressure_kpa(*, temperature_c: float, relative_humidity: float) -> float:
    """Return the vapour pressure of air of some humidity.

    Parameters
    ----------
    temperature_c
        Air temperature [C], -40 to 60.
    relative_humidity
        Vapour pressure per saturation vapour pressure [1], 0 to 1.

    Returns
    -------
    float
        Actual vapour pressure [kPa].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    References
    ----------
    [allen-1998-fao56] equation 10.
    """
    within("relative_humidity", relative_humidity, low=0, high=1, unit="1")
    return relative_humidity * saturation_vapour_pressure_kpa(temperature_c)


def daily_vapour_pressure_kpa(
    *,
    minimum_temperature_c: float,
    maximum_temperature_c: float,
    minimum_relative_humidity: float,
    maximum_relative_humidity: float,
) -> float:
    """Return the mean actual vapour pressure of a day.

    Parameters
    ----------
    minimum_temperature_c, maximum_temperature_c
        Lowest and highest air temperature [C], -40 to 60.
    minimum_relative_humidity, maximum_relative_humidity
        Lowest and highest relative humidity [1], 0 to 1: noon's and dawn's.

    Returns
    -------
    float
        Actual vapour pressure [kPa].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    References
    ----------
    [allen-1998-fao56] equation 17.
    """
    at_dawn_kpa = vapour_pressure_kpa(
        temperature_c=minimum_temperature_c, relative_humidity=maximum_relative_humidity
    )
    at_noon_kpa = vapour_pressure_kpa(
        temperature_c=maximum_temperature_c, relative_humidity=minimum_relative_humidity
    )
    return (at_dawn_kpa + at_noon_kpa) / 2


def psychrometer_vapour_pressure_kpa(
    *,
    dry_bulb_c: float,
    wet_bulb_c: float,
    pressure_kpa: float,
    coefficient_per_c: float = PSYCHROMETER_VENTILATED,
) -> float:
    """Return the vapour pressure a pair of thermometers shows.

    Parameters
    ----------
    dry_bulb_c, wet_bulb_c
        The two readings [C], -40 to 60; the wet one is not the higher.
    pressure_kpa
        Air pressure [kPa], 50 to 110.
    coefficient_per_c
        Instrument coefficient [1/C]: 0.000662 ventilated, 0.000800 naturally
        ventilated; 0.0005 to 0.0015.

    Returns
    -------
    float
        Actual vapour pressure [kPa].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range, or the readings cannot belong together.

    Notes
    -----
    ea = e(wet) - coefficient x pressure x (dry - wet).

    References
    ----------
    [allen-1998-fao56] equations 15 and 16.
    """
    within("pressure_kpa", pressure_kpa, low=50, high=110, unit="kPa")
    within("coefficient_per_c", coefficient_per_c, low=0.0005, high=0.0015, unit="1/C")
    within("dry_bulb_c", dry_bulb_c, low=_COLDEST_C, high=_HOTTEST_C, unit="C")
    within("wet_bulb_c", wet_bulb_c, low=_COLDEST_C, high=dry_bulb_c, unit="C")
    found_kpa = saturation_vapour_pressure_kpa(wet_bulb_c) - (
        coefficient_per_c * pressure_kpa * (dry_bulb_c - wet_bulb_c)
    )
    if found_kpa < 0:
        raise OutsideValidity(
            quantity="vapour pressure from the two readings",
            value=found_kpa,
            low=0,
            high=saturation_vapour_pressure_kpa(dry_bulb_c),
            unit="kPa",
        )
    return found_kpa


def vapour_pressure_deficit_kpa(*, temperature_c: float, relative_humidity: float) -> float:
    """Return how much more vapour the air can take up.

    Parameters
    ----------
    temperature_c
        Air temperature [C], -40 to 60.
    relative_humidity
        Vapour pressure per saturation vapour pressure [1], 0 to 1.

    Returns
    -------
    float
        Saturation minus actual vapour pressure [kPa], >= 0.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    References
    ----------
    [allen-1998-fao56] chapter 3, vapour pressure deficit.
    """
    return saturation_vapour_pressure_kpa(temperature_c) - vapour_pressure_kpa(
        temperature_c=temperature_c, relative_humidity=relative_humidity
    )


def dew_point_c(vapour_pressure_kpa: float) -> float:
    """Return the temperature at which air of a vapour pressure is saturated.

    Parameters
    ----------
    vapour_pressure_kpa
        Actual vapour pressure [kPa], the pressures of -40 to 60 C.

    Returns
    -------
    float
        Dew point [C]; the inverse of `saturation_vapour_pressure_kpa`.

    Raises
    ------
    OutsideValidity
        If the pressure lies outside the range.

    References
    ----------
    [allen-1998-fao56] equation 11, solved for the temperature.
    """
    within(
        "vapour_pressure_kpa",
        vapour_pressure_kpa,
        low=saturation_vapour_pressure_kpa(_COLDEST_C),
        high=saturation_vapour_pressure_kpa(_HOTTEST_C),
        unit="kPa",
    )
    logarithm = math.log(vapour_pressure_kpa / _VAPOUR_AT_ZERO_KPA)
    return _VAPOUR_OFFSET_C * logarithm / (_VAPOUR_SLOPE - logarithm)
