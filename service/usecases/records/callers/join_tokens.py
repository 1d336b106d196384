"""Signed links to join: nothing of them is kept, and whoever may invite can be shown one again."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

from service.usecases.base.signing import SIGNATURE_BYTES, bytes_of, is_signed, signature_of

_ID_BYTES: Final = 16
_PURPOSE: Final = b"join link\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinTokens:
    """Makes and checks the tokens of links to join."""

    signing_key: str = field(repr=False)
    former_keys: tuple[str, ...] = field(repr=False, default=())

    def token(self, session_id: UUID) -> str:
        """Return the token of a session: its id and a signature, 43 characters for an address."""
        signed = session_id.bytes + signature_of(_PURPOSE + session_id.bytes, key=self.signing_key)
        return base64.urlsafe_b64encode(signed).decode().rstrip("=")

    def session_id(self, token: str) -> UUID | None:
        """Return the session that a token was made for; None if it was not made here."""
        signed = bytes_of(token)
        if len(signed) != _ID_BYTES + SIGNATURE_BYTES:
            return None
        session_id = UUID(bytes=signed[:_ID_BYTES])
        keys = (self.signing_key, *self.former_keys)
        fits = is_signed(_PURPOSE + session_id.bytes, signed[_ID_BYTES:], keys=keys)
        return session_id if fits else None
