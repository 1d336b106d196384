"""Signed links: whoever holds one may see and answer one note, and nothing else."""

from __future__ import annotations

import base64
import hashlib
import hmac
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

# 128 bits of an HMAC-SHA-256, in base64url: beyond guessing, short enough for a square code.
# RFC 2104, section 5, allows truncation to no less than half of the hash.
_SIGNATURE_BYTES: Final = 16
SIGNATURE_LENGTH: Final = 22
_PURPOSE: Final = b"delivery note page\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteLinks:
    """Makes and checks the links of notes. A version of a note has its own id, so its own link."""

    public_url: str
    signing_key: str = field(repr=False)

    def signature(self, note_id: UUID) -> str:
        """Return the signature of a note's id."""
        mac = hmac.new(self.signing_key.encode(), _PURPOSE + note_id.bytes, hashlib.sha256)
        return base64.urlsafe_b64encode(mac.digest()[:_SIGNATURE_BYTES]).decode().rstrip("=")

    def holds(self, note_id: UUID, signature: str) -> bool:
        """Tell whether the signature is the note's, in constant time."""
        return hmac.compare_digest(self.signature(note_id).encode(), signature.encode())

    def page(self, note_id: UUID) -> str:
        """Return the full address of a note's page."""
        return f"{self.public_url}/notes/{note_id}/{self.signature(note_id)}"

    def pdf(self, note_id: UUID) -> str:
        """Return the full address of a note's paper."""
        return f"{self.page(note_id)}.pdf"
