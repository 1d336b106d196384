"""What a superseded routing said, kept as what it said otherwise than the one after it.

Two plans in a row differ in one vehicle of thirty and in a few lots, so this is a hundredth of the
routing. Parts of lists are found again by the id that they carry.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from typing import Any, Final

from service.storage import json_text

SAME: Final = 0
# What a part of a routing is called by, the narrowest first.
NAMES: Final = (
    "load_id",
    "hold_entry_id",
    "job_id",
    "destination_id",
    "vehicle_id",
    "code",
    "kind",
)
LEVEL: Final = 6  # the library's own middle between time and size
DICTIONARY_BYTES: Final = 32_768  # as far back as the format looks (RFC 1950, CINFO of 7)


def folded(old: object, new: object) -> bytes:
    """Return what is needed beside the new value to have the old one again."""
    text = json_text.written(_difference(old, new)).encode()
    packer = zlib.compressobj(LEVEL, zdict=_dictionary(new))
    return packer.compress(text) + packer.flush()


def unfolded(kept: bytes, new: object) -> Any:  # noqa: ANN401 - any JSON there is
    """Return the old value from what was kept of it and the new one."""
    packer = zlib.decompressobj(zdict=_dictionary(new))
    return _restored(json_text.read(packer.decompress(kept) + packer.flush()), new)


def _dictionary(new: object) -> bytes:
    return json_text.written(new).encode()[:DICTIONARY_BYTES]


def _difference(old: object, new: object) -> object:
    """Return 0 if both are the same, else how the old one is made of the new one."""
    # Equal is not the same: 0 equals 0.0, True equals 1, and an order of keys equals every other.
    if old == new and json_text.written(old) == json_text.written(new):
        return SAME
    if isinstance(old, dict) and isinstance(new, dict) and list(old) == list(new):
        parts = {name: _difference(old[name], new[name]) for name in old}
        return {"of": {name: part for name, part in parts.items() if part != SAME}}
    if isinstance(old, (list, tuple)) and isinstance(new, (list, tuple)):
        return {"row": _row(old, new)}
    return {"is": old}


def _row(old: Sequence[object], new: Sequence[object]) -> list[object]:
    """Return a list as runs of the new one's parts, and what of them is otherwise."""
    at = {_name(part, place): place for place, part in reversed(list(enumerate(new)))}
    row: list[Any] = []
    for place, part in enumerate(old):
        found = at.get(_name(part, place))
        if found is None:
            row.append({"is": part})
            continue
        change = _difference(part, new[found])
        last = row[-1] if row else None
        if change != SAME:
            row.append({"at": found, "as": change})
        elif isinstance(last, list) and last[0] + last[1] == found:
            last[1] += 1
        else:
            row.append([found, 1])
    return row


def _name(part: object, place: int) -> tuple[object, ...]:
    if isinstance(part, Mapping):
        named = tuple(str(part[name]) for name in NAMES if part.get(name) is not None)
        if named:
            return named
    return (place,)


def _restored(change: Any, new: Any) -> Any:  # noqa: ANN401 - any JSON there is
    if change == SAME and not isinstance(change, dict):
        return new
    if "is" in change:
        return change["is"]
    if "of" in change:
        return {name: _restored(change["of"].get(name, SAME), value) for name, value in new.items()}
    row: list[Any] = []
    for one in change["row"]:
        if isinstance(one, list):
            row += new[one[0] : one[0] + one[1]]
        elif "is" in one:
            row.append(one["is"])
        else:
            row.append(_restored(one["as"], new[one["at"]]))
    return row
