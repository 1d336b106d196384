"""The history of a record: who changed what, when and why."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

from service.api.contract.schemas import Answered, Entries
from service.api.fields import Choice, Identifier, Integer, Moment, Strict, Text
from service.core.callers.access import Role
from service.usecases.records.amending import SITE_LINK


class ChangedFields(Strict):
    """Field -> what it was and what it became."""

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        changes: Mapping[str, Any] = value
        return {name: {"was": was, "became": became} for name, (was, became) in changes.items()}

    def json_schema(self) -> dict[str, Any]:
        """Return the schema: any field, with any value before and after."""
        return {
            "type": "object",
            "additionalProperties": {
                "type": "object",
                "properties": {"was": {}, "became": {}},
                "required": ["was", "became"],
            },
        }


class SaidBy(StrEnum):
    """Who can have said what a record's history tells."""

    OWNER = Role.OWNER.value
    DISPATCHER = Role.DISPATCHER.value
    CREW = Role.CREW.value
    SITE = Role.SITE.value
    CLIENT = Role.CLIENT.value
    INTEGRATOR = Role.INTEGRATOR.value
    SITE_LINK = SITE_LINK


class ChangeAnswer(Answered):
    """One change of a record."""

    id = Identifier()
    version = Integer(
        low=1, attribute="record_version", metadata={"description": "The version it made."}
    )
    at = Moment()
    key_id = Identifier(
        allow_none=True,
        metadata={"description": "The key that changed it, or the session of `/sessions`."},
    )
    said_by = Choice(
        SaidBy,
        allow_none=True,
        metadata={
            "description": (
                "The role of that key, or the seat of that session; `site_link` where the link of "
                "a site said so, which whoever has it can open. Null where nobody asked for it."
            )
        },
    )
    reason = Text(longest=300, allow_none=True)
    changes = ChangedFields()


class HistoryAnswer(Answered):
    """Every change of a record, oldest first."""

    items = Entries(ChangeAnswer)


HISTORY_EXAMPLE: Final = {
    "items": [
        {
            "id": "0192f0c1-2b3c-7def-8123-456789abcdef",
            "version": 2,
            "at": "2026-05-24T13:05:00Z",
            "key_id": "0192f0c1-2b3c-7def-8123-456789abcde0",
            "said_by": "dispatcher",
            "reason": "Typing error",
            "changes": {"name": {"was": "Crew 3", "became": "Crew three"}},
        }
    ]
}
