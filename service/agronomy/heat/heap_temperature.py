"""What to do about a warm heap of dried clippings.

Dried grass that is heaped damp heats like hay and can burn. The table of
temperatures is advice of extension services and fire brigades, kept in the
rules; the fire service's word goes before it.
"""

from collections.abc import Mapping

from service.agronomy.estimates.validity import within


def heap_caution(temperature_c: float, *, thresholds_c: Mapping[str, float]) -> str | None:
    """Return the gravest caution whose temperature a heap has reached.

    Parameters
    ----------
    temperature_c
        Temperature measured inside the heap [C], -40 to 150.
    thresholds_c
        For each caution the temperature from which it holds [C], -40 to 150.

    Returns
    -------
    str or None
        Name of the caution; None below all of them.

    Raises
    ------
    OutsideValidity
        If a temperature lies outside its range.

    Notes
    -----
    The highest threshold not above the reading.

    References
    ----------
    [purdue-hay] and [penn-state-hay] the tables.
    """
    within("temperature_c", temperature_c, low=-40, high=150, unit="C")
    for threshold_c in thresholds_c.values():
        within("threshold", threshold_c, low=-40, high=150, unit="C")
    reached = [pair for pair in thresholds_c.items() if pair[1] <= temperature_c]
    return max(reached, key=lambda pair: pair[1])[0] if reached else None


def fresh_heap_is_warm(temperature_c: float, *, air_temperature_c: float, rise_c: float) -> bool:
    """Return whether a fresh heap has begun to heat.

    Parameters
    ----------
    temperature_c
        Temperature measured inside the heap [C], -40 to 150.
    air_temperature_c
        Temperature of the air [C], -40 to 60.
    rise_c
        Rise over the air that counts [C], above 0 to 50.

    Returns
    -------
    bool
        True from that rise on.

    Raises
    ------
    OutsideValidity
        If a temperature lies outside its range.

    References
    ----------
    [common-practice] a hand in the heap.
    """
    within("temperature_c", temperature_c, low=-40, high=150, unit="C")
    within("air_temperature_c", air_temperature_c, low=-40, high=60, unit="C")
    within("rise_c", rise_c, low=1e-6, high=50, unit="C")
    return temperature_c - air_temperature_c >= rise_c
