"""JSON as it stands in the database: exact numbers, and the few types JSON lacks."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from datetime import date, datetime, time
from uuid import UUID

# Facts, explanations and changes are dictionaries of anything. What JSON has no word for is kept
# under one of these keys, so that it comes back as what it was.
READERS: dict[str, Callable[[str], object]] = {
    "$datetime": datetime.fromisoformat,
    "$date": date.fromisoformat,
    "$time": time.fromisoformat,
    "$uuid": UUID,
}

# How an object with such a key begins; most texts have none, and are read at full speed.
MARK = '{"$'


def written(value: object) -> str:
    """Return a value as JSON text. Raises ValueError for NaN and infinities."""
    return json.dumps(
        value, ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=_marked
    )


def read(text: str | bytes) -> object:
    """Return what was written; tuples come back as lists, dataclasses as dictionaries."""
    marked = MARK in text if isinstance(text, str) else MARK.encode() in text
    return json.loads(text, object_hook=_unmarked if marked else None)


def _marked(value: object) -> object:
    # A datetime is a date too, so it is asked first.
    if isinstance(value, datetime):
        return {"$datetime": value.isoformat()}
    if isinstance(value, date):
        return {"$date": value.isoformat()}
    if isinstance(value, time):
        return {"$time": value.isoformat()}
    if isinstance(value, UUID):
        return {"$uuid": str(value)}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, (set, frozenset)):
        return sorted(value)
    raise TypeError(f"{type(value).__name__} cannot be kept")


def _unmarked(found: dict[str, object]) -> object:
    if len(found) == 1:
        [(key, value)] = found.items()
        reader = READERS.get(key)
        if reader is not None and isinstance(value, str):
            return reader(value)
    return found
