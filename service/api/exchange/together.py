"""All parts of a request are read before any is refused, so that their faults are told at once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial, wraps
from typing import Any, Final

from service.api.exchange.documented import View
from service.api.failures.faults import LocatedFault, Place
from service.api.failures.refusals import (
    BodyNotJson,
    MediaTypeNotSupported,
    PreconditionRequired,
    RequestNotUsable,
)
from service.core.errors import Refusal

# Hands over a part of the request: it is told who asks (None before no door), and the address.
Read = Callable[[Any, dict[str, Any]], Any]

# What is wrong with one part of a request says nothing of the others; any other refusal does.
_OF_ONE_PART: Final = (RequestNotUsable, PreconditionRequired, BodyNotJson, MediaTypeNotSupported)
_READS: Final = "_reads"


def together(*readings: Callable[[], Any]) -> list[Any]:
    """Return what all readings return. Raises the one refusal there is, or one of all faults."""
    values: list[Any] = []
    refusals: list[Refusal] = []
    for reading in readings:
        try:
            values.append(reading())
        except _OF_ONE_PART as one:
            refusals.append(one)
    if len(refusals) == 1:
        raise refusals[0]
    if refusals:
        usable: dict[str, Any] = {}
        for refusal in refusals:
            usable |= getattr(refusal, "usable", {})
        raise RequestNotUsable([*_faults_of(refusals)], usable=usable)
    return values


def reads_of(view: View) -> tuple[Read, ...]:
    """Return what a view reads of a request."""
    reads: tuple[Read, ...] = getattr(view, _READS, ())
    return reads


def with_reads(view: View, *reads: Read) -> View:
    """Return the view, reading this of a request."""
    setattr(view, _READS, reads)
    return view


def read_all(view: View, asked: Any, path: dict[str, Any]) -> list[Any]:
    """Return everything a view reads. Raises a refusal with all its faults."""
    return together(*(partial(read, asked, path) for read in reads_of(view)))


def read_first(read: Callable[[], Any], view: View, asked: Any, path: dict[str, Any]) -> Any:
    """Return what is read before a view; a refusal names also the faults of what it would read."""
    try:
        return read()
    except _OF_ONE_PART as refusal:
        found = refusal
    return together(partial(_raise, found), lambda: read_all(view, asked, path))


def handing(view: View, read: Read, *, name: str | None = None) -> View:
    """Return a view that is handed what is read, as its next argument or under a name."""

    @wraps(view)
    def enter(*args: Any, **path: Any) -> Any:
        asked = args[0] if args else None
        value = read_first(lambda: read(asked, path), view, asked, path)
        if name is None:
            return view(*args, value, **path)
        return view(*args, **(path | {name: value}))

    return with_reads(enter, read, *reads_of(view))


def _raise(refusal: Refusal) -> None:
    raise refusal


def _faults_of(refusals: list[Refusal]) -> Iterator[LocatedFault]:
    for refusal in refusals:
        if isinstance(refusal, RequestNotUsable):
            yield from refusal.faults
        elif isinstance(refusal, PreconditionRequired):
            yield LocatedFault(
                place=Place.HEADER, where="If-Match", detail=str(refusal), code="required"
            )
        else:
            yield LocatedFault(place=Place.BODY, where="", detail=str(refusal), code=refusal.code)
