"""What a caller would rather have (RFC 7240): wait so long, or not at all."""

from __future__ import annotations

from typing import Final

from flask import request
from werkzeug.http import parse_dict_header

# RFC 7240, 4.3. No day takes longer to be planned, and each who waits holds a thread.
LONGEST_WAIT_S: Final = 20


def preferred_wait_s() -> float | None:
    """Return how long the caller would rather wait, None without such a wish."""
    wait = _preferred().get("wait") or ""
    return float(min(int(wait), LONGEST_WAIT_S)) if wait.isascii() and wait.isdigit() else None


def prefers_later() -> bool:
    """Return whether the caller would rather fetch the answer later than wait (RFC 7240, 4.1)."""
    return "respond-async" in _preferred()


def _preferred() -> dict[str, str | None]:
    return parse_dict_header(", ".join(request.headers.getlist("Prefer")))
