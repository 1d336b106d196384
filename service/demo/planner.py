"""Get the planner's machine code behind the demo, and go over to it when it is there."""

from __future__ import annotations

import os
import subprocess
import threading
import time
from collections.abc import Callable
from typing import Final

from service.planning.arrays.compiled import PLAINLY, take_over

LOOK_AFTER_S: Final = 0.5


class PlannerBehind:
    """Makes or finds machine code behind, and tells when days are searched with it."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        """Begin, unless the environment wants none."""
        self._tell = tell
        self._process: subprocess.Popen[bytes] | None = None
        self._ended = False
        self._starting = threading.Lock()
        if os.environ.get(PLAINLY, "0") in {"", "0"}:
            threading.Thread(target=self._get, daemon=True).start()

    def end(self) -> None:
        """Stop what is still being made."""
        with self._starting:
            self._ended = True
        if self._process is not None and self._process.poll() is None:
            self._process.terminate()
            self._process.wait()

    def _get(self) -> None:
        from service.planning.warm import is_kept, warm  # noqa: PLC0415 - the demo is ready first

        if not is_kept() and not self._made():
            return
        take_over()
        warm()
        self._tell("the planner runs as machine code: from now on whole days are searched")

    def _made(self) -> bool:
        """Make machine code in a process of its own, so that the demo answers meanwhile."""
        self._tell("the planner is being compiled behind, once on this machine")
        began_s = time.perf_counter()
        from service.planning.warm import start_making  # noqa: PLC0415 - see above

        with self._starting:  # nothing is left behind by a demo that ends in this very moment
            if self._ended:
                return False
            self._process = start_making()
        while self._process.poll() is None:
            time.sleep(LOOK_AFTER_S)
        if self._process.returncode != 0 and not self._ended:
            self._tell("the planner could not be compiled; first plans will do")
        if self._process.returncode == 0:
            self._tell(f"compiled in {time.perf_counter() - began_s:.0f} s")
        return self._process.returncode == 0
