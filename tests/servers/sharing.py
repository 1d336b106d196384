"""One thing for all workers of a test run: whoever comes first makes it, the rest read of it."""

import fcntl
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any


def made_once(where: Path, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Return what `make` told when the first process of this run called it.

    Parameters
    ----------
    where
        A file that all workers of one run share and no other run does.
    make
        Makes the thing and returns what others need to know of it.
    """
    with where.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not where.exists():
            where.write_text(json.dumps(make()))
        told: dict[str, Any] = json.loads(where.read_text())
        return told
