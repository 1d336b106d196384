"""Budgets of callers: how many requests a minute, and how much of the processor they may cost.

Counted in each process by itself, and forgotten with it: on one machine the share of a key is so
many times the budget as there are processes. That is enough to keep one caller from the others.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from math import ceil
from threading import Lock
from typing import Final

from service.core.callers.access import Caller
from service.core.errors import Refusal

WINDOW_S: Final = 60
# A firm's keys together have so many times what one of them has, and who comes without a key that
# opens anything this part of it: it is guessing. Common practice, no source.
FIRM_SHARES: Final = 4
STRANGERS_PART: Final = 10
# So many callers are told apart in a minute; beyond that nobody new is counted.
MOST_COUNTED: Final = 50_000


class BudgetSpent(Refusal):
    """A caller that asks for more than its share of a minute."""

    code = "budget_spent"
    sentence = "{whose} spent its {what} of this minute; go on in {retry_after_s} seconds."


@dataclass(slots=True, kw_only=True)
class Budgets:
    """What was spent in this minute, by key, firm and address.

    ``requests`` is what a key may ask in a minute, ``computation_s`` how many seconds of a
    processor its answers may take in it.
    """

    requests: int
    computation_s: float
    clock: Callable[[], float] = time.monotonic
    _window: int = 0
    spent: Counter[Hashable] = field(default_factory=Counter)
    _lock: Lock = field(default_factory=Lock)

    def left_s(self) -> int:
        """Return how many seconds are left of the minute."""
        return max(1, ceil(WINDOW_S - self.clock() % WINDOW_S))

    def take(self, caller: Caller) -> int:
        """Count a request and return how many more the key may ask. Raises BudgetSpent."""
        key, firm = ("key", caller.key_id), ("firm", caller.firm_id)
        asked = self._count(key), self._count(firm)
        for whose, count, share in (
            ("This key", asked[0], 1),
            ("Your firm", asked[1], FIRM_SHARES),
        ):
            if count > self.requests * share:
                raise self._spent_by(whose, "requests")
        seconds = self.computation_s
        if self.spent["time", caller.key_id] > seconds:
            raise self._spent_by("This key", "computation")
        if self.spent["time", caller.firm_id] > seconds * FIRM_SHARES:
            raise self._spent_by("Your firm", "computation")
        return self.requests - asked[0]

    def refuse_guessing(self, address: str) -> None:
        """Count a request whose key opens nothing. Raises BudgetSpent."""
        if self._count(("address", address)) > max(1, self.requests // STRANGERS_PART):
            raise self._spent_by("This address", "tries of keys")

    @contextmanager
    def computing(self, caller: Caller) -> Iterator[None]:
        """Count the processor's time that an answer takes."""
        began_s = time.thread_time()
        try:
            yield
        finally:
            spent_s = time.thread_time() - began_s
            with self._lock:
                for who in (caller.key_id, caller.firm_id):
                    self.spent["time", who] += spent_s  # type: ignore[assignment] # seconds, too

    @contextmanager
    def spending(self, caller: Caller) -> Iterator[None]:
        """Count a request and the processor's time it takes. Raises BudgetSpent."""
        self.take(caller)
        with self.computing(caller):
            yield

    def policy(self) -> str:
        """Return the quota, as `RateLimit-Policy` (draft-ietf-httpapi-ratelimit-headers-10)."""
        return f'"requests";q={self.requests};w={WINDOW_S}'

    def told(self, left: int) -> str:
        """Return what is left of it, as `RateLimit` (the same draft)."""
        return f'"requests";r={max(0, left)};t={self.left_s()}'

    def _count(self, who: Hashable) -> int:
        with self._lock:
            window = int(self.clock() // WINDOW_S)
            if window != self._window:
                self._window = window
                self.spent.clear()
            if who in self.spent or len(self.spent) < MOST_COUNTED:
                self.spent[who] += 1
            return self.spent[who]

    def _spent_by(self, whose: str, what: str) -> BudgetSpent:
        return BudgetSpent(whose=whose, what=what, retry_after_s=self.left_s())
