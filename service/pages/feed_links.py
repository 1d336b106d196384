"""Signed addresses of feeds: a calendar has no cookie, so its address is its key."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

from service.usecases.base.signing import bytes_of, is_signed, signature_of

_PURPOSE: Final = "feed of deliveries"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedLinks:
    """Makes and checks the address of a place's deliveries, and of nothing else."""

    public_url: str
    signing_key: str = field(repr=False)
    former_keys: tuple[str, ...] = field(repr=False, default=())

    def signature(self, firm_id: UUID, kind: str, place_id: UUID) -> str:
        """Return the signature of a firm's place."""
        signed = signature_of(_message(firm_id, kind, place_id), key=self.signing_key)
        return base64.urlsafe_b64encode(signed).decode().rstrip("=")

    def holds(self, firm_id: UUID, kind: str, place_id: UUID, signature: str) -> bool:
        """Tell whether the signature is the place's, in constant time."""
        message, keys = _message(firm_id, kind, place_id), (self.signing_key, *self.former_keys)
        return is_signed(message, bytes_of(signature), keys=keys)

    def calendar(self, firm_id: UUID, kind: str, place_id: UUID) -> str:
        """Return the full address of a place's deliveries as a calendar."""
        signature = self.signature(firm_id, kind, place_id)
        return f"{self.public_url}/feeds/{firm_id}/{kind}/{place_id}/{signature}/deliveries.ics"


def _message(firm_id: UUID, kind: str, place_id: UUID) -> bytes:
    return "\n".join((_PURPOSE, str(firm_id), kind, str(place_id))).encode()
