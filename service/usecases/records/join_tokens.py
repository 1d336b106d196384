"""Signed links to join: nothing of them is kept, and whoever may invite can be shown one again."""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

_ID_BYTES: Final = 16
# RFC 2104, section 5, allows an HMAC to be cut to no less than half of the hash.
_SIGNATURE_BYTES: Final = 16
_PURPOSE: Final = b"join link\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinTokens:
    """Makes and checks the tokens of links to join."""

    signing_key: str = field(repr=False)

    def token(self, session_id: UUID) -> str:
        """Return the token of a session: its id and a signature, 43 characters for an address."""
        signed = session_id.bytes + self._signature(session_id)
        return base64.urlsafe_b64encode(signed).decode().rstrip("=")

    def session_id(self, token: str) -> UUID | None:
        """Return the session that a token was made for; None if it was not made here."""
        try:
            signed = base64.b64decode(token + "=" * (-len(token) % 4), b"-_", validate=True)
        except (binascii.Error, ValueError):
            return None
        if len(signed) != _ID_BYTES + _SIGNATURE_BYTES:
            return None
        session_id = UUID(bytes=signed[:_ID_BYTES])
        fits = hmac.compare_digest(self._signature(session_id), signed[_ID_BYTES:])
        return session_id if fits else None

    def _signature(self, session_id: UUID) -> bytes:
        mac = hmac.new(self.signing_key.encode(), _PURPOSE + session_id.bytes, hashlib.sha256)
        return mac.digest()[:_SIGNATURE_BYTES]
