"""What is kept beside the records that it follows from: sums of the mass book, stays, tickets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol
from uuid import UUID

from service.core.mass_book import Amounts, BodyStay, MassBalance


@dataclass(frozen=True, slots=True)
class WeighedLoad:
    """What a load's accepted ticket says of the lawn that gave most of it.

    ``estimated_kg`` is what was thought before any ticket spoke, 0 where no job has an estimate.
    """

    load_id: UUID
    grass_group: str
    lawn: str
    estimated_kg: float
    weighed_kg: float
    is_as_recorded: bool = True


class WeighedLoadRepository(Protocol):
    """What accepted weigh tickets say, kept small.

    Which loads have one is kept as loads are written. What it says is worked out when it is first
    asked for, and anew after the load or one of its jobs was written: not ``is_as_recorded``.
    """

    def newest(
        self, firm_id: UUID, *, of_firm: int, lawns: Sequence[str], of_lawn: int
    ) -> list[WeighedLoad]:
        """Return what the newest tickets of a firm say, newest first, and then the lawns' own.

        Each load stands in it once.
        """
        ...

    def standing(self, firm_id: UUID, load_ids: Sequence[UUID]) -> set[UUID]:
        """Return those of the loads that nobody writes, or their jobs, before this unit ends."""
        ...

    def keep(self, firm_id: UUID, loads: Sequence[WeighedLoad]) -> None:
        """Keep what was worked out of some loads after they were found standing."""
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

    def totals_anew(self, firm_id: UUID) -> list[tuple[str, UUID, Amounts]]:
        """Return what is at every place, worked out of every lot there ever was."""
        ...

    def keep_totals_anew(self, firm_id: UUID) -> None:
        """Write what is at every place over what was kept of it."""
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


class BodyStayRepository(Protocol):
    """Which clippings lay in which body, from when until when."""

    def of_lots(self, firm_id: UUID, job_ids: Sequence[UUID]) -> list[BodyStay]:
        """Return the stays of some lots, each lot's own by their hours."""
        ...

    def put(self, firm_id: UUID, job_ids: Sequence[UUID], stays: Sequence[BodyStay]) -> None:
        """Write the stays of some lots over those that were kept."""
        ...

    def keep_apart(self, firm_id: UUID, job_id: UUID, at: datetime) -> None:
        """Keep that a lot was apart from all that had come to lie beside it by a moment."""
        ...

    def mixed_since(self, firm_id: UUID, job_ids: Sequence[UUID]) -> dict[UUID, datetime]:
        """Return what lay in one body with some lots, and since when each counts as mixed.

        With one that lay with one of them, and then with a third, the third counts too. One
        statement more for each time that any of it came into further bodies, whatever lay there.
        """
        ...

    def met_by(self, firm_id: UUID, job_id: UUID) -> list[tuple[BodyStay, BodyStay]]:
        """Return each stay of a lot with each of another that lay in its body with it."""
        ...

    def lots_in(self, firm_id: UUID, vehicle_id: UUID, since: datetime) -> set[UUID]:
        """Return the lots that lay in a body at a moment or after it."""
        ...

    def any_left(self, firm_id: UUID, vehicle_ids: Sequence[UUID], since: datetime) -> bool:
        """Return whether anything left some bodies at a moment or after it. In one statement."""
        ...


class SettledLoadRepository(Protocol):
    """What was known of loads as a recall that had them was ended."""

    def keep(self, firm_id: UUID, known: Mapping[UUID, Sequence[Any]]) -> None:
        """Keep what is known of loads, in place of what was kept of them."""
        ...

    def of(self, firm_id: UUID, load_ids: Sequence[UUID]) -> dict[UUID, list[Any]]:
        """Return what was known of those of some loads that were recalled."""
        ...
