"""Where the reasons behind a job's numbers are told."""

from __future__ import annotations

from typing import Any

from service.api.fields import Strict

_WORDS = ("why", "verdicts")


class JobLinks(Strict):
    """Links from a job to why its estimate is so and what every destination says of it."""

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> Any:  # noqa: ARG002 - the signature is marshmallow's
        """Return the addresses, relative to this service."""
        return {word: f"/jobs/{obj.id}/{word}" for word in _WORDS}

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the links."""
        link = {"type": "string", "format": "uri-reference"}
        return {
            "type": "object",
            "properties": dict.fromkeys(_WORDS, link),
            "required": list(_WORDS),
        }
