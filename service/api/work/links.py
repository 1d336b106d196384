"""Signed links: whoever holds one may see and answer one note, and nothing else."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

from service.usecases.base.signing import bytes_of, is_signed, signature_of

SIGNATURE_LENGTH: Final = 22
_PURPOSE: Final = b"delivery note page\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteLinks:
    """Makes and checks the links of notes. A version of a note has its own id, so its own link."""

    public_url: str
    signing_key: str = field(repr=False)
    former_keys: tuple[str, ...] = field(repr=False, default=())

    def signature(self, note_id: UUID) -> str:
        """Return the signature of a note's id."""
        signed = signature_of(_PURPOSE + note_id.bytes, key=self.signing_key)
        return base64.urlsafe_b64encode(signed).decode().rstrip("=")

    def holds(self, note_id: UUID, signature: str) -> bool:
        """Tell whether the signature is the note's, in constant time."""
        given = bytes_of(signature)
        return is_signed(
            _PURPOSE + note_id.bytes, given, keys=(self.signing_key, *self.former_keys)
        )

    def page(self, note_id: UUID) -> str:
        """Return the full address of a note's page."""
        return f"{self.public_url}/notes/{note_id}/{self.signature(note_id)}"

    def pdf(self, note_id: UUID) -> str:
        """Return the full address of a note's paper."""
        return f"{self.page(note_id)}.pdf"
