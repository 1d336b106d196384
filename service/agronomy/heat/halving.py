"""Where a falling function meets zero."""

from collections.abc import Callable


def falling_root(function: Callable[[float], float], *, low: float, high: float) -> float:
    """Return where a function that starts above zero first falls to it, by halving.

    Parameters
    ----------
    function
        Positive at `low`, not positive at `high`, crossing once between.
    low, high
        Ends of the search, in the unit of the argument.

    Returns
    -------
    float
        The crossing, to the last digit of a float.
    """
    middle = (low + high) / 2
    while low < middle < high:
        if function(middle) > 0:
            low = middle
        else:
            high = middle
        middle = (low + high) / 2
    return middle
