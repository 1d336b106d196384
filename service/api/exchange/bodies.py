"""Request bodies: strict JSON, and the merge of a patch into what is kept."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final, NoReturn

from flask import Request

from service.api.exchange.json_form import plain
from service.api.failures.refusals import BodyNotJson, BodyTooLarge, MediaTypeNotSupported

JSON: Final = "application/json"
MERGE_PATCH: Final = "application/merge-patch+json"
LONGEST_NUMBER: Final = 400


def body_of(request: Request) -> bytes:
    """Return the body's bytes.

    A body that states its length is refused by that; one that comes in chunks is cut off at
    the limit, and refused here.

    Raises
    ------
    BodyTooLarge
    """
    body = request.get_data()
    limit = request.max_content_length
    if request.content_length is None and limit is not None and len(body) >= limit:
        raise BodyTooLarge(limit=limit)
    return body


def read_json(request: Request, *, media_types: tuple[str, ...] = (JSON,)) -> Any:
    """Return the body as JSON.

    Duplicate names, NaN, infinities and what is not UTF-8 are refused: each would be
    read differently by different readers (RFC 8259, sections 4, 6 and 8.1).

    Raises
    ------
    MediaTypeNotSupported, BodyNotJson
    """
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    if request.mimetype not in media_types or charset not in {"utf-8", "utf8"}:
        raise MediaTypeNotSupported(allowed=" or ".join(media_types))
    try:
        return json.loads(
            body_of(request).decode("utf-8"),
            object_pairs_hook=_no_duplicates,
            parse_constant=_no_constant,
            parse_int=_integer,
        )
    except UnicodeDecodeError:
        raise BodyNotJson(why="it is not UTF-8") from None
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise BodyNotJson(why=f"{error.msg} at {where}") from None
    except RecursionError:
        raise BodyNotJson(why="it is nested too deeply") from None


def content_of(request: Request) -> bytes:
    """Return what a body says, however it is written: gaps and the order of members are nothing.

    What cannot be read is what its bytes are. Raises BodyTooLarge.
    """
    try:
        said = plain(read_json(request, media_types=(JSON, MERGE_PATCH)))
        return json.dumps(said, sort_keys=True, separators=(",", ":")).encode()
    except (MediaTypeNotSupported, BodyNotJson, RecursionError):
        return body_of(request)


def merged(kept: Any, patch: Any) -> Any:
    """Return what a merge patch makes of a value (RFC 7396, section 2).

    A null for a name that is not there stays, so that the schema can say whether there
    is such a field at all.
    """
    if not isinstance(patch, dict):
        return patch
    result = dict(kept) if isinstance(kept, Mapping) else {}
    for name, value in patch.items():
        if value is None and name in result:
            del result[name]
        elif isinstance(value, dict):
            result[name] = merged(result.get(name), value)
        else:
            result[name] = value
    return result


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value] # add() is called for its effect
        raise BodyNotJson(why=f"the name {json.dumps(twice)} stands twice in one object")
    return members


def _no_constant(word: str) -> NoReturn:
    raise BodyNotJson(why=f"{word} is no JSON number")


def _integer(digits: str) -> int | float:
    """Return the number; digits beyond any use become infinite and are refused as a value."""
    return int(digits) if len(digits) <= LONGEST_NUMBER else float("inf")
