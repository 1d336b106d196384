"""Whom to ask of a place: by name and telephone, its client or who runs it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from service.core.places import Client
from service.core.records import NOBODY
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts


class Whom:
    """Who has a say at the places of a day; each client is read once."""

    def __init__(self, unit: UnitOfWork, facts: DayFacts) -> None:
        """Take the records and the day."""
        self._unit = unit
        self._facts = facts
        self._clients: dict[UUID, Client | None] = {}

    def of(
        self,
        place: Any,  # noqa: ANN401 - a place of any kind, or none
    ) -> str:
        """Return name and telephone; empty where nobody is on record."""
        home = self._facts.properties.get(getattr(place, "property_id", None) or NOBODY)
        client = None if home is None else self._client(home.client_id)
        name = getattr(place, "operator", None) if client is None else client.name
        phone = getattr(place if client is None else client, "phone", None)
        return ", ".join(filter(None, [name, phone]))

    def _client(self, client_id: UUID) -> Client | None:
        if client_id not in self._clients:
            found = self._unit.clients.get(self._facts.depot.firm_id, client_id)
            self._clients[client_id] = found
        return self._clients[client_id]
