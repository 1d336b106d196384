"""Compile a plain Python function, keep the machine code where that is allowed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba

Array = Any  # in compiled code: a numpy array, or a number read from one


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return the function compiled by numba; its plain twin stays reachable as ``py_func``.

    The machine code is kept beside the module, or in the user's cache folder. Where neither can
    be written, as in a read-only image, it is compiled in memory, once in every process.

    Parameters
    ----------
    function
        Takes and returns numbers and numpy arrays only.
    """
    try:
        kept: Callable[..., Any] = numba.njit(cache=True, error_model="numpy")(function)
    except RuntimeError:  # numba's word for: there is no folder to keep it in
        kept = numba.njit(error_model="numpy")(function)
    return kept
