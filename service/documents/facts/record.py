"""The facts of a note as JSON and back, so that an issued note can be kept as it was issued."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from types import MappingProxyType, NoneType, UnionType
from typing import Final, cast, get_args, get_origin, get_type_hints

from service.core.measures.estimates import Estimate
from service.documents.facts.note import NoteFacts
from service.documents.facts.refusals import NoteRecordNotReadable
from service.documents.facts.values import (
    AreaAtDepth,
    Listed,
    LotStatements,
    Named,
    Quantity,
    Value,
)

# A gap's value names its own kind, because a text may look like a date.
_KINDS: Final[Mapping[str, type]] = MappingProxyType(
    {
        "quantity": Quantity,
        "area_at_depth": AreaAtDepth,
        "estimate": Estimate,
        "moment": datetime,
        "date": date,
        "named": Named,
        "listed": Listed,
        "lots": LotStatements,
    }
)


def facts_as_json(facts: NoteFacts) -> dict[str, object]:
    """Return the facts as what JSON can hold; `facts_from_json` is the inverse."""
    return cast("dict[str, object]", _encoded(facts, NoteFacts))


def facts_from_json(record: Mapping[str, object]) -> NoteFacts:
    """Return the facts a record was made from.

    Parameters
    ----------
    record
        As `facts_as_json` gave it.

    Raises
    ------
    NoteRecordNotReadable
        If it is no such record.
    NoteFactNotUsable
        If its facts contradict each other.
    """
    try:
        return cast("NoteFacts", _decoded(record, NoteFacts))
    except (KeyError, TypeError, ValueError) as error:
        raise NoteRecordNotReadable(reason=repr(error)) from error


def fingerprint(facts: NoteFacts) -> str:
    """Return the SHA-256 of the facts as canonical JSON, 64 hexadecimal digits."""
    return digest_of_kept(facts_as_json(facts))


def digest_of_kept(record: Mapping[str, object]) -> str:
    """Return the same of facts that are kept as JSON, also of those of an earlier version."""
    canonical = json.dumps(record, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("ascii")).hexdigest()


def as_json(value: Value) -> object:
    """Return a gap's value as what JSON can hold, with its kind beside it."""
    return _encoded(value, Value)


def _encoded(value: object, hint: object) -> object:
    """Return a value of a declared type as what JSON can hold."""
    if hint == Value and not isinstance(value, str | int):
        kind = next(kind for kind, made in _KINDS.items() if isinstance(value, made))
        return {kind: _encoded(value, _KINDS[kind])}
    encoded: object = value
    if is_dataclass(value):
        hints = get_type_hints(type(value))
        encoded = {
            field.name: _encoded(getattr(value, field.name), hints[field.name])
            for field in fields(value)
        }
    elif isinstance(value, Enum):
        encoded = value.value
    elif isinstance(value, date):
        encoded = value.isoformat()
    elif isinstance(value, tuple):
        encoded = [_encoded(item, get_args(hint)[0]) for item in value]
    elif isinstance(value, frozenset):
        encoded = sorted(str(_encoded(item, get_args(hint)[0])) for item in value)
    return encoded


def _decoded(raw: object, hint: object) -> object:
    """Return the value of a declared type that was written as `raw`."""
    decoded = raw
    if hint == Value:
        if isinstance(raw, Mapping):
            ((kind, inner),) = raw.items()
            decoded = _decoded(inner, _KINDS[kind])
    elif isinstance(hint, UnionType):
        (made,) = (arm for arm in get_args(hint) if arm is not NoneType)
        decoded = None if raw is None else _decoded(raw, made)
    elif get_origin(hint) in (tuple, frozenset):
        items = (_decoded(item, get_args(hint)[0]) for item in cast("list[object]", raw))
        decoded = tuple(items) if get_origin(hint) is tuple else frozenset(items)
    elif is_dataclass(hint):
        decoded = _record(cast("Mapping[str, object]", raw), cast("Callable[..., object]", hint))
    elif isinstance(hint, type) and issubclass(hint, Enum):
        decoded = hint(raw)
    elif isinstance(hint, type) and issubclass(hint, date):
        decoded = hint.fromisoformat(cast("str", raw))
    return decoded


def _record(raw: Mapping[str, object], made: Callable[..., object]) -> object:
    hints = get_type_hints(made)
    return made(**{name: _decoded(value, hints[name]) for name, value in raw.items()})
