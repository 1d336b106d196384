"""The demo's own time: it is moved while the day is told, and runs on once people may ask."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from itertools import count
from uuid import UUID

from service.core.records import Clock

RANDOM_BYTES = 10


class DemoClock:
    """A clock that stands where it is put, until it is let run."""

    def __init__(self, at: datetime) -> None:
        """Put it to a moment."""
        self._at = at.astimezone(UTC)
        self._let_run_s: float | None = None

    def now(self) -> datetime:
        """Return the demo's time, UTC."""
        if self._let_run_s is None:
            return self._at
        return self._at + timedelta(seconds=time.monotonic() - self._let_run_s)

    def move_to(self, at: datetime) -> None:
        """Put it to another moment; it stands again."""
        self._at = at.astimezone(UTC)
        self._let_run_s = None

    def run(self) -> None:
        """Let it run from where it stands."""
        self._let_run_s = time.monotonic()


class ClockIdentifiers:
    """UUIDv7 (RFC 9562, 5.7) whose time is the demo's, so that ids sort as the day went."""

    def __init__(self, clock: Clock, *, make_tail: Callable[[int], bytes]) -> None:
        """Take the clock, and what gives the random part: so many bytes at each call."""
        self._clock = clock
        self._make_tail = make_tail

    def next_id(self) -> UUID:
        """Return the next id."""
        milliseconds = int(self._clock.now().timestamp() * 1000)
        raw = bytearray(milliseconds.to_bytes(6, "big") + self._make_tail(RANDOM_BYTES))
        raw[6] = 0x70 | (raw[6] & 0x0F)
        raw[8] = 0x80 | (raw[8] & 0x3F)
        return UUID(bytes=bytes(raw))


def same_tails(seed: str) -> Callable[[int], bytes]:
    """Return a giver of bytes that gives the same ones in every run."""
    numbers = count()

    def make_tail(size: int) -> bytes:
        # The count leads, so that ids of one moment keep the order they were made in.
        number = next(numbers)
        told = sha256(f"{seed} {number}".encode()).digest()
        return number.to_bytes(4, "big")[2:] + told[: size - 2]

    return make_tail
