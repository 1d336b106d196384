"""Kinds of lots of one vehicle, told apart as bits of a whole number."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]

MOST_BITS = 62  # kinds of one vehicle's lots, told apart as bits of a 64-bit number
ALWAYS = 1_000_000_000  # a second after every day


class LotBits:
    """Lots that the same destinations take, as long, share a bit; a load is the bits aboard."""

    def __init__(self) -> None:
        self.known: list[npt.NDArray[np.bool_]] = []
        self.ends: list[Whole] = []
        self.numbers: dict[bytes, int] = {}
        self.merged = False

    def of(self, takers: npt.NDArray[np.bool_], until: Whole) -> int:
        """Return the bit of a lot; past the last bit, lots share one that all must be taken by."""
        until = np.where(takers, until, ALWAYS)
        key = takers.tobytes() + until.tobytes()
        if key not in self.numbers:
            if len(self.known) < MOST_BITS:
                self.known.append(takers)
                self.ends.append(until)
            else:
                self.merged = True
                self.known[-1] = self.known[-1] & takers
                self.ends[-1] = np.minimum(self.ends[-1], until)
            self.numbers[key] = len(self.known) - 1
        return 1 << self.numbers[key]

    def accepted(self, count: int) -> Whole:
        """Return, for every destination, the bits it takes."""
        masks = np.zeros(count, dtype=np.int64)
        for bit, takers in enumerate(self.known):
            masks |= takers.astype(np.int64) << bit
        return masks

    def until(self, count: int) -> tuple[Whole, Whole]:
        """Return the last seconds by bit, a row for destinations alike, and each one's row."""
        ends = np.array(self.ends, dtype=np.int64).reshape(len(self.ends), count).T
        bound = np.flatnonzero((ends < ALWAYS).any(axis=1))
        rows = np.full(count, -1, dtype=np.int64)
        if not len(bound):
            return np.zeros((0, 0), dtype=np.int64), rows
        until, inverse = np.unique(ends[bound], axis=0, return_inverse=True)
        rows[bound] = inverse.reshape(-1)
        return np.ascontiguousarray(until), rows
