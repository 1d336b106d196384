"""Whose a property was on a day: what was cut and laid before a sale stays the former client's."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.core.callers.access import Amendment
from service.core.places import Property
from service.usecases.base.ports.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientsThen:
    """The clients of some properties, now and before.

    Attributes
    ----------
    now
        Property -> its client as it is on record.
    before
        Property -> until when it was whose, oldest first.
    """

    now: Mapping[UUID, UUID]
    before: Mapping[UUID, tuple[tuple[date, UUID], ...]]

    @classmethod
    def of(cls, unit: UnitOfWork, firm_id: UUID, properties: Collection[Property]) -> ClientsThen:
        """Read the history of some properties, in one statement."""
        ids = sorted(home.id for home in properties)
        changes = unit.amendments.of(firm_id, *ids) if ids else []
        return cls(now={home.id: home.client_id for home in properties}, before=_sold(changes))

    def on(self, property_id: UUID, day: date) -> UUID | None:
        """Return whose a property was on a day; None of one that is not known."""
        for until, client_id in self.before.get(property_id, ()):
            if day < until:
                return client_id
        return self.now.get(property_id)

    @property
    def all(self) -> set[UUID]:
        """Every client there is or was."""
        former = {client_id for sold in self.before.values() for _, client_id in sold}
        return former | set(self.now.values())


def _sold(changes: Iterable[Amendment]) -> dict[UUID, tuple[tuple[date, UUID], ...]]:
    sold: dict[UUID, tuple[tuple[date, UUID], ...]] = {}
    for change in changes:
        said = change.changes.get("client_id")
        if isinstance(said, list | tuple):
            was = (change.at.date(), UUID(str(said[0])))
            sold[change.record_id] = (*sold.get(change.record_id, ()), was)
    return sold
