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
