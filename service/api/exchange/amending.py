"""Amendments: which version they are meant for, why they are made, and what they change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from flask import request
from marshmallow import Schema, ValidationError

from service.api.exchange.bodies import merged
from service.api.exchange.documented import View
from service.api.exchange.together import handing, together
from service.api.failures.faults import Place, located
from service.api.failures.refusals import PreconditionRequired, RequestNotUsable
from service.api.fields import Text
from service.core.errors import VersionOvertaken
from service.core.records import Record

REASON_HEADER: Final = "Change-Reason"
LONGEST_REASON: Final = 300

IF_MATCH: Final[dict[str, Any]] = {
    "in": "header",
    "name": "If-Match",
    "required": True,
    "description": "The ETag of the version the change is meant for; * means any.",
    "schema": {"type": "string"},
    "example": '"1"',
}
CHANGE_REASON: Final[dict[str, Any]] = {
    "in": "header",
    "name": REASON_HEADER,
    "description": "Why the change is made, in UTF-8; kept in the history.",
    "schema": {"type": "string", "maxLength": LONGEST_REASON},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment:
    """What a merge patch says: the fields it changes, of which version, and why."""

    changes: dict[str, Any]
    expected_version: int
    reason: str | None


def amendment_of(patch: dict[str, Any], *, kept: Record, whole: Schema, noun: str) -> Amendment:
    """Return what a merge patch says of the kept record.

    Raises
    ------
    VersionOvertaken, PreconditionRequired, RequestNotUsable
        The last with every fault, of the headers and of the patch.
    """
    version, reason, changes = together(
        lambda: expected_version(kept, noun=noun),
        change_reason,
        lambda: changes_of(patch, kept=kept, whole=whole),
    )
    return Amendment(changes=changes, expected_version=version, reason=reason)


def reasoned(view: View) -> View:
    """Return a view that is handed why something is done, as ``reason``."""
    return handing(view, lambda *_: change_reason(), name="reason")


def require_if_match() -> None:
    """Refuse an amendment that does not say of which version it is. Raises PreconditionRequired."""
    if "If-Match" not in request.headers:
        raise PreconditionRequired


def expected_version(kept: Record, *, noun: str) -> int:
    """Return the version the change is meant for, if it is the kept one.

    Raises
    ------
    PreconditionRequired, VersionOvertaken
    """
    require_if_match()
    if not request.if_match.contains(str(kept.version)):
        meant = request.headers["If-Match"]
        raise VersionOvertaken(record=noun, current=kept.version, expected=meant)
    return kept.version


def change_reason() -> str | None:
    """Return why the change is made: the header Change-Reason, in UTF-8."""
    raw = request.headers.get(REASON_HEADER)
    if raw is None:
        return None
    field = Text(longest=LONGEST_REASON)
    try:
        return str(field.deserialize(raw.encode("latin-1").decode("utf-8")))
    except UnicodeDecodeError:
        messages: Any = [field.sentence()]
    except ValidationError as error:
        messages = error.messages
    raise RequestNotUsable(located({REASON_HEADER: messages}, place=Place.HEADER))


def changes_of(patch: dict[str, Any], *, kept: Record, whole: Schema) -> dict[str, Any]:
    """Return the fields a merge patch changes, with their new values.

    The patch is merged into the whole record, and the whole is checked, so that a
    member of a measure may be changed alone and a null puts a default back.

    Raises
    ------
    RequestNotUsable
    """
    before = {name: value for name, value in whole.dump(kept).items() if value is not None}
    before.pop("id", None)
    try:
        after = whole.load(merged(_present(before), patch))
    except ValidationError as error:
        usable = error.valid_data if isinstance(error.valid_data, dict) else None
        raise RequestNotUsable(located(error.messages), usable=usable) from None
    return {name: after[name] for name in patch if name in after}


def _present(value: Any) -> Any:
    """Leave out what is null: a merge patch knows absence only."""
    if isinstance(value, dict):
        return {name: _present(inner) for name, inner in value.items() if inner is not None}
    return value
