"""Let those that want the same thing made wait for the one that makes it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from threading import Lock


class OneByOne:
    """Locks by key, in this process; a key that nobody waits for takes no memory."""

    def __init__(self) -> None:
        """Begin with nobody waiting."""
        self._locks: dict[Hashable, Lock] = {}
        self._wanted: Counter[Hashable] = Counter()
        self._counting = Lock()

    @contextmanager
    def __call__(self, key: Hashable) -> Iterator[None]:
        """Wait until nobody else is inside with this key, and be inside."""
        with self._counting:
            lock = self._locks.setdefault(key, Lock())
            self._wanted[key] += 1
        try:
            with lock:
                yield
        finally:
            with self._counting:
                self._wanted[key] -= 1
                if not self._wanted[key]:
                    del self._locks[key], self._wanted[key]
