"""Answers that were written once and are sent again as the bytes they are."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass
from functools import cached_property
from threading import Lock
from typing import Final, Self

from flask import Response

from service.api.exchange.compression import GZIP, packed, takes_gzip

# Of bodies as they are, a tenth of it more packed. A day of 200 jobs is half a megabyte in one
# language, so a process keeps some thirty of them; common practice, no source.
MOST_BYTES: Final = 16_000_000


@dataclass(frozen=True, kw_only=True)
class Written:
    """A body as it is sent, plain or packed, and what is said of it."""

    plain: bytes
    headers: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, response: Response) -> Self:
        """Return a response that was just written."""
        said = tuple((name, value) for name, value in response.headers if name != "Content-Length")
        return cls(plain=response.get_data(), headers=said)

    @cached_property
    def zipped(self) -> bytes:
        """Return the body packed, which is done once, for the first who takes it so."""
        return packed(self.plain)

    def sent(self) -> Response:
        """Return it as the caller of this request takes it."""
        is_zipped = takes_gzip()
        response = Response(self.zipped if is_zipped else self.plain, headers=list(self.headers))
        response.vary.add("Accept-Encoding")
        if is_zipped:
            response.headers["Content-Encoding"] = GZIP
        return response


class WrittenAnswers:
    """The answers asked for last, by what they are of; the oldest go first."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Hashable, Written] = OrderedDict()
        self._bytes = 0
        self._lock = Lock()

    def forget(self) -> None:
        """Keep nothing any more."""
        with self._lock:
            self._kept.clear()
            self._bytes = 0

    def get(self, key: Hashable) -> Written | None:
        """Return what is kept of a key, None of none."""
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
            return found

    def keep(self, key: Hashable, written: Written) -> None:
        """Keep an answer, in the room of the oldest."""
        with self._lock:
            if key in self._kept:
                return
            self._kept[key] = written
            self._bytes += len(written.plain)
            while self._bytes > MOST_BYTES and len(self._kept) > 1:
                _, gone = self._kept.popitem(last=False)
                self._bytes -= len(gone.plain)
