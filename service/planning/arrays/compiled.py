"""Compile a plain Python function, keep the machine code where that is allowed."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba

Array = Any  # in compiled code: a numpy array, or a number read from one


def _folder_of_this_version() -> str:
    """Return the folder to keep machine code in: another one whenever any of the sources changes.

    The library keeps a function's machine code until the function's own file changes; what it
    calls is compiled into it and may have changed in another file.
    """
    here = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for source in sorted(here.rglob("*.py")):
        digest.update(source.name.encode() + b"\0" + source.read_bytes())
    given = os.environ.get("NUMBA_CACHE_DIR")
    base = Path(given) if given else here / "__pycache__"
    if not given and not os.access(here, os.W_OK):
        base = Path.home() / ".cache" / "clipping-dispatch"
    return str(base / f"compiled-{digest.hexdigest()[:16]}")


numba.config.CACHE_DIR = _folder_of_this_version()  # type: ignore[attr-defined] # made at run time


def compiled(function: Callable[..., Any], *, inline: bool = False) -> Callable[..., Any]:
    """Return the function compiled by numba; its plain twin stays reachable as ``py_func``.

    The machine code is kept beside the module, or in the user's cache folder. Where neither can
    be written, as in a read-only image, it is compiled in memory, once in every process.

    Parameters
    ----------
    function
        Takes and returns numbers and numpy arrays only.
    inline
        Put the function's code where it is called: a call costs more than a small function does.
    """
    how: dict[str, Any] = {"error_model": "numpy", "inline": "always" if inline else "never"}
    try:
        kept: Callable[..., Any] = numba.njit(cache=True, **how)(function)
    except RuntimeError:  # numba's word for: there is no folder to keep it in
        kept = numba.njit(**how)(function)
    return kept
