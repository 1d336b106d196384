"""Signed addresses of feeds: a calendar has no cookie, so its address is its key."""

from __future__ import annotations

import base64
import hashlib
import hmac
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

# As the links of notes: 128 bits of an HMAC-SHA-256 (RFC 2104, section 5).
_SIGNATURE_BYTES: Final = 16
_PURPOSE: Final = "feed of deliveries"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedLinks:
    """Makes and checks the address of a place's deliveries, and of nothing else."""

    public_url: str
    signing_key: str = field(repr=False)

    def signature(self, firm_id: UUID, kind: str, place_id: UUID) -> str:
        """Return the signature of a firm's place."""
        signed = "\n".join((_PURPOSE, str(firm_id), kind, str(place_id)))
        mac = hmac.new(self.signing_key.encode(), signed.encode(), hashlib.sha256)
        return base64.urlsafe_b64encode(mac.digest()[:_SIGNATURE_BYTES]).decode().rstrip("=")

    def holds(self, firm_id: UUID, kind: str, place_id: UUID, signature: str) -> bool:
        """Tell whether the signature is the place's, in constant time."""
        wanted = self.signature(firm_id, kind, place_id)
        return hmac.compare_digest(wanted.encode(), signature.encode())

    def calendar(self, firm_id: UUID, kind: str, place_id: UUID) -> str:
        """Return the full address of a place's deliveries as a calendar."""
        signature = self.signature(firm_id, kind, place_id)
        return f"{self.public_url}/feeds/{firm_id}/{kind}/{place_id}/{signature}/deliveries.ics"
