"""How much water the air holds, and how much more it can take."""

import math
from typing import Final

from service.agronomy.estimates.validity import within

# Tetens' constants as printed in [allen-1998-fao56], equation 11.
_VAPOUR_AT_ZERO_KPA: Final = 0.6108
_VAPOUR_SLOPE: Final = 17.27
_VAPOUR_OFFSET_C: Final = 237.3
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
