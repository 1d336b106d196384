"""Keep clients: of an erased client nothing more is recorded."""

from __future__ import annotations

from service.core.callers.access import Caller
from service.core.measures.units import date_words
from service.core.places import Client
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.clients.unfinished import ClientErased
from service.usecases.records.keep_records import KeepRecords


class KeepClients(KeepRecords[Client]):
    """Create, read, list, amend and delete clients."""

    def _before_amendment(
        self,
        unit: UnitOfWork,  # noqa: ARG002 - the signature is that of all books
        caller: Caller,  # noqa: ARG002 - see above
        old: Client,
        new: Client,  # noqa: ARG002 - see above
        reason: str | None,  # noqa: ARG002 - see above
    ) -> None:
        """Refuse to write anything of a client who was erased. Raises ClientErased."""
        if old.erased_at is not None:
            raise ClientErased(on=date_words(old.erased_at.date()))
