"""Numbers as people type them: a mark before three digits means two things to two readers."""

import re
from typing import Final

# "1,200" is twelve hundred to one reader, and one and a fifth to another. No group begins with 0.
_ONE_MARK: Final = re.compile(r"([1-9]\d{0,2})([.,])(\d{3})")


def two_readings(text: str, *, marks: str = ".,") -> tuple[float, float] | None:
    """Return both numbers that a text may mean, the greater first; None if it means one at most.

    Parameters
    ----------
    marks
        Those that may part groups of three digits as well as a fraction.
    """
    found = _ONE_MARK.fullmatch(text)
    if found is None or found[2] not in marks:
        return None
    return float(found[1] + found[3]), float(f"{found[1]}.{found[3]}")
