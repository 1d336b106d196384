"""Words: text that says something, closed lists, names of zones and of records, yes and no."""

from __future__ import annotations

import re
from collections.abc import Callable
from enum import StrEnum
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from service.api.failures.faults import refused
from service.api.fields.base import Strict
from service.core.permission.jurisdictions import fault_of_place

_CONTROL: Final = r"\u0000-\u001f\u007f-\u009f"
_CONTROL_BUT_BREAKS: Final = r"\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f"
_UUID: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.IGNORECASE)


class Flag(Strict):
    """true or false, nothing else."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> bool:
        if not isinstance(value, bool):
            raise refused("Write true or false.", code="not_a_boolean")
        return value

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a boolean."""
        return {"type": "boolean"}


class FlagInQuery(Flag):
    """true or false in a query, where everything is text."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> bool:
        words = {"true": True, "false": False}
        return super()._deserialize(words.get(value, value), *args, **kwargs)


class Text(Strict):
    """Text that says something: trimmed, not empty, no control characters, not too long."""

    def __init__(
        self,
        *,
        longest: int,
        breaks: bool = False,
        pattern: str | None = None,
        allowed: str | None = None,
        **options: Any,
    ) -> None:
        """Take the most characters, whether line breaks may be in it, and a pattern with words."""
        super().__init__(**options)
        self.longest, self.pattern, self.allowed = longest, pattern, allowed
        control = _CONTROL_BUT_BREAKS if breaks else _CONTROL
        self._sane = rf"^[^{control}]*[^\s{control}][^{control}]*$"
        self._controls = re.compile(f"[{control}]")

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> str:
        if not isinstance(value, str):
            raise refused(self.sentence(), code="not_text")
        text = value.strip()
        if not text or self._controls.search(text) or not _encodable(text):
            raise refused(self.sentence(), code="text_not_usable")
        if len(value) > self.longest:
            raise refused(self.sentence(), code="too_long")
        if self.pattern is not None and not re.fullmatch(self.pattern, text):
            raise refused(self.sentence(), code="text_not_usable")
        return text

    def sentence(self) -> str:
        """Return what is allowed."""
        what = self.allowed or "text without control characters"
        return f"Write {what}, 1 to {self.longest} characters."

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the text."""
        pattern = self._sane if self.pattern is None else f"^{self.pattern}$"
        return {"type": "string", "minLength": 1, "maxLength": self.longest, "pattern": pattern}


class ZoneName(Text):
    """A time zone of the IANA database."""

    def __init__(self, **options: Any) -> None:
        """Allow names such as Europe/London."""
        super().__init__(
            longest=64,
            pattern=r"[A-Za-z][A-Za-z0-9_+/-]*",
            allowed="a time zone of the IANA database such as Europe/London",
            **options,
        )

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> str:
        name = super()._deserialize(value, *args, **kwargs)
        try:
            ZoneInfo(name)
        except (ValueError, OSError, KeyError):
            raise refused(self.sentence(), code="time_zone_unknown") from None
        return name


class Jurisdiction(Text):
    """A country or a part of one, by ISO 3166."""

    def __init__(self, **options: Any) -> None:
        """Allow codes such as GB-ENG."""
        super().__init__(
            longest=6,
            pattern="[A-Z]{2}(-[A-Z0-9]{1,3})?",
            allowed="a country or a part of one by ISO 3166, such as GB-ENG",
            **options,
        )

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> str:
        code = super()._deserialize(value, *args, **kwargs)
        fault = fault_of_place(code)
        if fault is not None:
            raise refused(fault, code="jurisdiction_unknown")
        return code


class Choice(Strict):
    """One of a closed list of words."""

    def __init__(self, words: type[StrEnum] | tuple[str, ...], **options: Any) -> None:
        """Take an enumeration or the words themselves."""
        super().__init__(**options)
        self.words = tuple(str(word) for word in words)
        self._make: Callable[[str], Any] = words if isinstance(words, type) else str

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if not isinstance(value, str) or value not in self.words:
            raise refused(f"Choose one of: {', '.join(self.words)}.", code="not_a_choice")
        return self._make(value)

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return None if value is None else str(value)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of the list."""
        return {"type": "string", "enum": list(self.words)}


class Identifier(Strict):
    """A UUID written with hyphens."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> UUID:
        if not isinstance(value, str) or not _UUID.fullmatch(value):
            raise refused("Write a UUID, with hyphens.", code="not_a_uuid")
        return UUID(value)

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return None if value is None else str(value)

    def json_schema(self) -> dict[str, Any]:
        """Return the schema of a UUID."""
        return {"type": "string", "format": "uuid"}


def _encodable(text: str) -> bool:
    """Tell half a surrogate pair, which no encoding of Unicode can carry."""
    return not any("\ud800" <= character <= "\udfff" for character in text)
