"""Digests of what is kept as evidence: anybody can work them out from what is answered."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID


def plain(value: Any) -> Any:  # noqa: ANN401 - JSON of anything
    """Return a value as it is answered: numbers of 15 digits, moments as text."""
    if isinstance(value, Mapping):
        return {str(name): plain(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, float):
        rounded = float(f"{value:.15g}")
        return int(rounded) if rounded.is_integer() else rounded
    return str(value) if isinstance(value, UUID) else value


def digest_of(content: Mapping[str, object]) -> str:
    """Return the SHA-256 of the JSON with its keys sorted and no gaps."""
    written = json.dumps(plain(content), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(written.encode()).hexdigest()
