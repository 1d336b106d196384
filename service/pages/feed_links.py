"""Signed addresses of feeds: a calendar has no cookie, so its address is its key, for a time."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Final
from uuid import UUID

from service.core.errors import Refusal
from service.usecases.base.signing import bytes_of, is_signed, signature_of

_PURPOSE: Final = "feed of deliveries"
# A season and its winter; whoever still reads it asks for another. Common practice, no source.
FEED_LASTS: Final = timedelta(days=365)
_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_TICK: Final = timedelta(microseconds=1)


class FeedEnded(Refusal):
    """An address that opened a calendar once."""

    code = "feed_ended"
    sentence = "This address of a calendar has ended. Ask {firm} for another: {phone}."


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedLinks:
    """Makes and checks the address of a place's deliveries, and of nothing else."""

    public_url: str
    signing_key: str = field(repr=False)
    former_keys: tuple[str, ...] = field(repr=False, default=())

    def made_at(
        self, firm_id: UUID, kind: str, place_id: UUID, *, made: int, signature: str
    ) -> datetime | None:
        """Return when an address of a firm's place was made; None if not here."""
        message = _message(firm_id, kind, place_id, made)
        keys = (self.signing_key, *self.former_keys)
        return _EPOCH + made * _TICK if is_signed(message, bytes_of(signature), keys=keys) else None

    def calendar(self, firm_id: UUID, kind: str, place_id: UUID, *, now: datetime) -> str:
        """Return the full address of a place's deliveries as a calendar, from now on."""
        made = (now - _EPOCH) // _TICK
        signed = signature_of(_message(firm_id, kind, place_id, made), key=self.signing_key)
        signature = base64.urlsafe_b64encode(signed).decode().rstrip("=")
        way = f"feeds/{firm_id}/{kind}/{place_id}/{made}/{signature}/deliveries.ics"
        return f"{self.public_url}/{way}"


def has_ended(made_at: datetime, *, withdrawn_at: datetime | None, now: datetime) -> bool:
    """Return whether an address opens nothing any more: withdrawn, or a year old."""
    is_withdrawn = withdrawn_at is not None and made_at < withdrawn_at
    return is_withdrawn or now - made_at > FEED_LASTS


def _message(firm_id: UUID, kind: str, place_id: UUID, made: int) -> bytes:
    return "\n".join((_PURPOSE, str(firm_id), kind, str(place_id), str(made))).encode()
