"""Take a person out of what is kept: the same for records, and for JSON as it stands in rows."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, Final
from uuid import UUID

from service.core.personal.register import Fate

# Stands where a person's words stood; in no language, as records are.
ERASED: Final = "erased"
# Shorter words, and those that others have too, tell of nobody where nothing else names the client:
# "Front" is not searched for in other clients' texts. Common practice, no source.
TELLING_LETTERS: Final = 8
TELLING_LETTERS_MIXED: Final = 5
# A tenth of a degree is 11 km from north to south: a region, and no house. Common practice.
COARSE_DIGITS: Final = 1
WRITTEN_OVER: Final = frozenset({Fate.EMPTIED, Fate.REPLACED, Fate.COARSENED})


@dataclass(frozen=True, kw_only=True)
class Person:
    """What a client is found by in what tells of many.

    Attributes
    ----------
    ids
        Of the client and of all records that are the client's own.
    texts
        What was written of the client, wherever one of the ids stands beside it.
    telling
        Those that are told from others' by themselves, and are searched for everywhere.
    degrees
        Of the client's points, and what becomes of them.
    """

    ids: frozenset[str]
    texts: frozenset[str]
    telling: tuple[str, ...]
    degrees: Mapping[float, float]


def person_of(
    ids: Collection[UUID],
    texts: Collection[str],
    others: Collection[str],
    degrees: Collection[float],
) -> Person:
    """Return what a client is found by; ``others`` are the same texts of everybody else."""
    told = frozenset(text for text in texts if text not in {"", ERASED})
    shared = set(others)
    return Person(
        ids=frozenset(str(one) for one in ids),
        texts=told,
        telling=tuple(
            sorted((text for text in told - shared if _is_telling(text)), key=len, reverse=True)
        ),
        degrees={one: coarse(one) for one in degrees},
    )


def coarse(degrees: float) -> float:
    """Return degrees as they stay on record."""
    return round(degrees, COARSE_DIGITS)


def _is_telling(text: str) -> bool:
    is_mixed = any(letter.isdigit() or letter.isspace() for letter in text)
    return len(text) >= (TELLING_LETTERS_MIXED if is_mixed else TELLING_LETTERS)


def without_texts(value: Any, fates: Mapping[str, Fate]) -> Any:  # noqa: ANN401 - a record or a row
    """Return a record, or a row, with each of its texts as its line says; searched ones stay."""
    for path, fate in fates.items():
        if fate in WRITTEN_OVER:
            value = _with(value, path.split("."), fate)
    return value


def texts_of(value: Any, fates: Mapping[str, Fate]) -> Iterator[str]:  # noqa: ANN401 - as above
    """Yield the texts of a record, or a row, that do not stay on record."""
    for path, fate in fates.items():
        if fate in WRITTEN_OVER:
            yield from _at(value, path.split("."))


def _at(value: Any, path: list[str]) -> Iterator[str]:  # noqa: ANN401 - as above
    if isinstance(value, list | tuple):
        for one in value:
            yield from _at(one, path)
    elif not path:
        if isinstance(value, str):
            yield value
    elif isinstance(value, Mapping):
        yield from _at(value.get(path[0]), path[1:])
    elif value is not None:
        yield from _at(getattr(value, path[0]), path[1:])


def _with(value: Any, path: list[str], fate: Fate) -> Any:  # noqa: ANN401 - as above
    if value is None:
        return None
    if not path:
        return _erased(value, fate)
    if isinstance(value, list | tuple):
        return type(value)(_with(one, path, fate) for one in value)
    name, *rest = path
    if isinstance(value, Mapping):
        return {**value, name: _with(value[name], rest, fate)} if name in value else value
    return replace(value, **{name: _with(getattr(value, name), rest, fate)})


def _erased(value: Any, fate: Fate) -> Any:  # noqa: ANN401 - as above
    if isinstance(value, list | tuple):
        return type(value)()
    if fate is Fate.EMPTIED:
        return None
    if fate is Fate.COARSENED:
        names = ("latitude", "longitude")
        if isinstance(value, Mapping):
            return {**value, **{name: coarse(value[name]) for name in names}}
        return replace(value, **{name: coarse(getattr(value, name)) for name in names})
    return ERASED if value else value


def searched(value: Any, person: Person) -> Any:  # noqa: ANN401 - JSON, or a record
    """Return what tells of many without what it tells of one; equal where it tells nothing."""
    return _searched(value, person, _pattern(person.telling), mine=None)


def _searched(value: Any, person: Person, telling: _Pattern, mine: _Pattern) -> Any:  # noqa: ANN401, PLR0911 - as above, one a kind
    if isinstance(value, str):
        return _said(value, telling if mine is None else mine)
    if isinstance(value, bool | int | UUID) or value is None:
        return value
    if isinstance(value, float):
        return person.degrees.get(value, value)
    if isinstance(value, bytes):
        return _in_bytes(value, person, telling, mine)
    if isinstance(value, Mapping):
        mine = mine or _own(value.values(), person)
        found: Any = {name: _searched(one, person, telling, mine) for name, one in value.items()}
        return found
    if isinstance(value, list | tuple):
        return type(value)(_searched(one, person, telling, mine) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        kept = {one.name: getattr(value, one.name) for one in fields(value) if one.init}
        mine = mine or _own(kept.values(), person)
        told = {name: _searched(one, person, telling, mine) for name, one in kept.items()}
        changed = {name: one for name, one in told.items() if one != kept[name]}
        return replace(value, **changed) if changed else value
    return value


_Pattern = re.Pattern[str] | None


def _own(values: Collection[Any], person: Person) -> _Pattern:
    """Return what is searched for in an object that names anything of the client's; else None."""
    named = (
        one for value in values for one in (value if isinstance(value, list | tuple) else [value])
    )
    if any(isinstance(one, str | UUID) and str(one) in person.ids for one in named):
        return _pattern(person.texts)
    return None


def _pattern(texts: Collection[str]) -> _Pattern:
    """Return what finds any of some texts as whole words, the longest first."""
    if not texts:
        return None
    longest_first = sorted(texts, key=len, reverse=True)
    return re.compile("|".join(rf"(?<!\w){re.escape(text)}(?!\w)" for text in longest_first))


def _said(text: str, pattern: _Pattern) -> str:
    return text if pattern is None else pattern.sub(ERASED, text)


def _in_bytes(value: bytes, person: Person, telling: _Pattern, mine: _Pattern) -> bytes:
    """Return an answer as it was sent, which is mostly JSON; what is no text is left as it is."""
    try:
        text = value.decode()
    except UnicodeDecodeError:
        return value
    try:
        told = json.loads(text)
    except ValueError:
        return _said(text, telling if mine is None else mine).encode()
    after = _searched(told, person, telling, mine)
    return value if after == told else json.dumps(after, ensure_ascii=False).encode()
