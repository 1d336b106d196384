"""Signatures of links: the newest key signs, those before it still verify."""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
from collections.abc import Iterable
from typing import Final

# 128 bits of an HMAC-SHA-256, in base64url: beyond guessing, short enough for a square code.
# RFC 2104, section 5, allows truncation to no less than half of the hash.
SIGNATURE_BYTES: Final = 16


def signature_of(message: bytes, *, key: str) -> bytes:
    """Return the signature of a message."""
    return hmac.new(key.encode(), message, hashlib.sha256).digest()[:SIGNATURE_BYTES]


def is_signed(message: bytes, signature: bytes, *, keys: Iterable[str]) -> bool:
    """Tell whether one of the keys signed a message; it takes as long whichever did, or none."""
    found = [hmac.compare_digest(signature_of(message, key=key), signature) for key in keys]
    return any(found)


def bytes_of(text: str) -> bytes:
    """Return what stands in an address in base64url; nothing of what is none."""
    try:
        return base64.b64decode(text + "=" * (-len(text) % 4), b"-_", validate=True)
    except (binascii.Error, ValueError):
        return b""
