"""What accepted weigh tickets say, as it is kept: a port of its own, for nobody else asks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol
from uuid import UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketPart:
    """What one job gave to a weighed load, as it was worked out for these versions of both.

    ``estimated_kg`` is what was thought before any ticket spoke, 0 where the job has no estimate.
    """

    firm_id: UUID
    load_id: UUID
    job_id: UUID
    load_version: int
    job_version: int
    grass_group: str
    lawn: str
    weighed_at: datetime
    estimated_kg: float
    weighed_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedLoad:
    """What all parts of a weighed load say together: its lawn is the one that gave most of it."""

    load_id: UUID
    grass_group: str
    lawn: str
    weighed_at: datetime
    estimated_kg: float
    weighed_kg: float


def together(parts: Sequence[TicketPart]) -> WeighedLoad:
    """Return what all parts of one load say."""
    main = max(parts, key=lambda part: (part.estimated_kg, part.job_id))
    return WeighedLoad(
        load_id=main.load_id,
        grass_group=main.grass_group,
        lawn=main.lawn,
        weighed_at=main.weighed_at,
        estimated_kg=sum(part.estimated_kg for part in parts),
        weighed_kg=main.weighed_kg,
    )


class TicketPartRepository(Protocol):
    """What accepted weigh tickets say, kept small: worked out again where a record moved on."""

    def newest(
        self, firm_id: UUID, *, of_firm: int, lawns: Sequence[str], of_lawn: int
    ) -> tuple[list[WeighedLoad], list[UUID]]:
        """Return the newest accepted tickets of a firm, and each of the lawns' own newest.

        Those worked out for the present versions of load and jobs come as `together` says them,
        one a load, however many lots were in it; of the others the loads' ids, ascending.
        """
        ...

    def keep(self, parts: Sequence[TicketPart]) -> None:
        """Keep all parts of some loads in place of what was kept of these loads."""
        ...
