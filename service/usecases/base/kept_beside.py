"""What is kept beside the records that it follows from: sums of the mass book, and tickets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol
from uuid import UUID

from service.core.mass_book import Amounts, MassBalance


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


class MassBalanceRepository(Protocol):
    """The sums kept beside the entries."""

    def of_lots(self, firm_id: UUID, lot_ids: Sequence[UUID]) -> list[MassBalance]:
        """Return the sums of some lots at all places."""
        ...

    def at(self, firm_id: UUID, place_kind: str, place_id: UUID | None) -> list[MassBalance]:
        """Return the sums of all lots at a place, or at all places of a kind."""
        ...

    def totals(
        self, firm_id: UUID, place_kind: str | None = None
    ) -> list[tuple[str, UUID, Amounts]]:
        """Return what is at every place, or at those of a kind, all lots together."""
        ...

    def put(
        self,
        firm_id: UUID,
        lot_ids: Sequence[UUID],
        balances: Sequence[MassBalance],
        *,
        fresh: bool = False,
    ) -> None:
        """Write the sums of some lots over those that were kept; fresh lots have none."""
        ...
