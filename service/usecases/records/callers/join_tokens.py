"""Signed links of people: nothing of them is kept; whoever may invite can be shown one again."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from enum import Enum
from typing import Final
from uuid import UUID

from service.usecases.base.signing import SIGNATURE_BYTES, bytes_of, is_signed, signature_of

_ID_BYTES: Final = 16


class Purpose(Enum):
    """What a link is signed for: one that joins a device opens no gate, nor the other way round."""

    JOIN = b"join link\n"
    GATE = b"gate link\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinTokens:
    """Makes and checks the tokens of links to join, and to gates."""

    signing_key: str = field(repr=False)
    former_keys: tuple[str, ...] = field(repr=False, default=())

    def token(self, session_id: UUID, purpose: Purpose = Purpose.JOIN) -> str:
        """Return the token of a session: its id and a signature, 43 characters for an address."""
        message = purpose.value + session_id.bytes
        signed = session_id.bytes + signature_of(message, key=self.signing_key)
        return base64.urlsafe_b64encode(signed).decode().rstrip("=")

    def session_id(self, token: str, purpose: Purpose = Purpose.JOIN) -> UUID | None:
        """Return the session that a token was made for; None if it was not made here."""
        signed = bytes_of(token)
        if len(signed) != _ID_BYTES + SIGNATURE_BYTES:
            return None
        session_id = UUID(bytes=signed[:_ID_BYTES])
        keys = (self.signing_key, *self.former_keys)
        fits = is_signed(purpose.value + session_id.bytes, signed[_ID_BYTES:], keys=keys)
        return session_id if fits else None
