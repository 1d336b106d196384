"""The history of a record: who changed what, when and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.api.contract.schemas import Answered, Entries
from service.api.fields import Identifier, Integer, Moment, Strict, Text


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


class ChangeAnswer(Answered):
    """One change of a record."""

    id = Identifier()
    version = Integer(
        low=1, attribute="record_version", metadata={"description": "The version it made."}
    )
    at = Moment()
    key_id = Identifier(allow_none=True, metadata={"description": "The key that changed it."})
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
            "reason": "Typing error",
            "changes": {"name": {"was": "Crew 3", "became": "Crew three"}},
        }
    ]
}
