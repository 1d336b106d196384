"""Faulty fields: from nested messages to a flat list of pointers, sentences and codes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Self

from marshmallow import ValidationError

from service.core.errors import FieldFault

REQUIRED: Final = "This field is required."
NOT_NULL: Final = "This field cannot be null."
NOT_AN_OBJECT: Final = "Write an object: {...}."
UNKNOWN_FIELD: Final = "There is no such field; the fields are: {fields}."

_CODES: Final[Mapping[str, str]] = {REQUIRED: "required", NOT_NULL: "null"}
_WHOLE: Final = "_schema"


# Longer than any place or sentence of ours; what a caller sent is in both.
LONGEST_PLACE: Final = 200
LONGEST_DETAIL: Final = 800


def shortened(text: str, longest: int) -> str:
    """Return a text, its end left out if it is longer than that."""
    return text if len(text) <= longest else f"{text[: longest - 1]}\N{HORIZONTAL ELLIPSIS}"


class Place(StrEnum):
    """Which part of the request a fault is in."""

    BODY = "body"
    QUERY = "query"
    HEADER = "header"


class Fault(str):
    """A sentence about a faulty field, with a stable code."""

    __slots__ = ("code",)

    code: str

    def __new__(cls, sentence: str, *, code: str = "invalid") -> Self:
        """Return the sentence with its code."""
        fault = super().__new__(cls, sentence)
        fault.code = code
        return fault


@dataclass(frozen=True, slots=True, kw_only=True)
class LocatedFault:
    """One fault and where it is: a JSON pointer into the body, or a parameter's name."""

    place: Place
    where: str
    detail: str
    code: str

    def as_json(self) -> dict[str, str]:
        """Return the member of ``errors`` in a problem answer."""
        member = {Place.BODY: "pointer", Place.QUERY: "parameter", Place.HEADER: "header"}
        return {
            member[self.place]: shortened(self.where, LONGEST_PLACE),
            "detail": shortened(self.detail, LONGEST_DETAIL),
            "code": self.code,
        }


def refused(sentence: str, *, code: str = "invalid") -> ValidationError:
    """Return the error a field raises."""
    return ValidationError([Fault(sentence, code=code)])


def located(messages: object, *, place: Place = Place.BODY) -> list[LocatedFault]:
    """Return the faults of a schema's messages, each with its place."""
    faults = []
    for path, message in _walk(messages, ()):
        # A header and a parameter have a name, also where they stand several times.
        where = pointer(path) if place is Place.BODY else path[0]
        code = message.code if isinstance(message, Fault) else _CODES.get(message, "invalid")
        faults.append(LocatedFault(place=place, where=where, detail=str(message), code=code))
    return faults


def from_record(fault: FieldFault, *, place: Place = Place.BODY) -> LocatedFault:
    """Return a fault that a record found in itself."""
    where = fault.pointer
    if place is not Place.BODY:
        where = where.removeprefix("/").replace("/", ".")
    return LocatedFault(place=place, where=where, detail=fault.detail, code=fault.fault_code)


def to_record(fault: LocatedFault) -> FieldFault:
    """Return a fault of a row as its record would have found it."""
    return FieldFault(pointer=fault.where, detail=fault.detail, code=fault.code)


def pointer(path: tuple[str, ...]) -> str:
    """Return an RFC 6901 pointer: "" is the whole document."""
    return "".join("/" + part.replace("~", "~0").replace("/", "~1") for part in path)


def _walk(messages: object, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    if isinstance(messages, Mapping):
        for key, inner in messages.items():
            yield from _walk(inner, path if key == _WHOLE else (*path, str(key)))
    elif isinstance(messages, list):
        for message in messages:
            yield from _walk(message, path)
    else:
        yield path, messages if isinstance(messages, str) else str(messages)
