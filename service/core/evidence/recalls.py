"""A recall: what was found of some lots, what is frozen meanwhile, and who was called."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from uuid import UUID

from service.core.evidence.evidence import Evidence
from service.core.loads import Load


@dataclass(frozen=True, slots=True, kw_only=True)
class CallMade:
    """That one of the list was called: by whose key, when, and what was said."""

    number: int
    at: datetime
    key_id: UUID | None = None
    said: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtSince:
    """That something recalled came to a place after its lots were traced, and whom to tell."""

    load_id: UUID
    place_id: UUID
    at: datetime
    role: str
    name: str
    phone: str | None = None
    language: str | None = None
    say: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RecalledLawn:
    """A lawn of which everything that is cut from a day on is recalled, also what is cut later."""

    lawn_id: UUID
    since: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall(Evidence):
    """A recall that was begun, as its lots were traced then.

    While it is open its beds take nothing more, and its lots, and what else is cut on its
    ``lawns``, go nowhere but into a bay. Its content is the trace. ``brought_since`` is what was
    tipped of it all the same, or is said only later to have been: one more to call each.
    ``load_ids`` are the loads of both.
    """

    reason: str
    job_ids: tuple[UUID, ...]
    bed_ids: tuple[UUID, ...]
    load_ids: tuple[UUID, ...] = ()
    lawns: tuple[RecalledLawn, ...] = ()
    is_open: bool = True
    ended_at: datetime | None = None
    calls: tuple[CallMade, ...] = ()
    brought_since: tuple[BroughtSince, ...] = ()

    @property
    def people(self) -> list[dict[str, Any]]:
        """Return whom to tell what, JSON-ready: those of the trace, then those of since."""
        traced: Any = self.content.get("people", [])
        return [
            *traced,
            *(
                {
                    "role": one.role,
                    "name": one.name,
                    "phone": one.phone,
                    "language": one.language,
                    "place_ids": [str(one.place_id)],
                    "say": list(one.say),
                }
                for one in self.brought_since
            ),
        ]

    @property
    def still_to_call(self) -> list[int]:
        """Return the places in ``people`` of those whom nobody has called."""
        called = {call.number for call in self.calls}
        return [number for number in range(len(self.people)) if number not in called]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRecall(Recall):
    """An open recall with what is of it by now beside what it traced: all that is in ``job_ids``.

    ``mixed_since`` are those of them that lay in one body with a recalled lot, and since when: what
    left a lot before that hour is not recalled.
    """

    mixed_since: Mapping[UUID, datetime] = field(default_factory=dict)

    def codes_in(self, load: Load) -> list[str]:
        """Return the lots of a load that were recalled when it was tipped."""
        return [
            part.lot_code
            for part in load.parts
            if part.job_id in self.job_ids
            and (
                (since := self.mixed_since.get(part.job_id)) is None
                or load.done_at is None
                or load.done_at >= since
            )
        ]
