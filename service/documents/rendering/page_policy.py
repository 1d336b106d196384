"""What a page with a style of its own may load: that style, and nothing else."""

from __future__ import annotations

import base64
import hashlib


def style_source(style: str) -> str:
    """Return the source of a style sheet in a page, as a content security policy names it."""
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"'sha256-{digest}'"
