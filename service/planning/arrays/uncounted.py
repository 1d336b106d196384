"""Arrays that compiled code counts no references to."""

from __future__ import annotations

from typing import Any

Array = Any  # as in `compiled`, which imports what makes machine code of this


def borrowed(array: Array) -> Array:
    """Return an array that compiled code counts no references to; the same in plain Python.

    Counting them in every call of a small function took half of the labelling's time. Whoever
    borrows must use the array itself once more after the last use of what was borrowed.
    """
    return array
