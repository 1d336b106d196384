"""What a compost site asks for what it takes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class FeeBasis(StrEnum):
    """What a site's fee is counted on."""

    PER_TONNE = "per_tonne"
    PER_M3 = "per_m3"
    PER_LOAD = "per_load"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fee:
    """A site's fee in hundredths of the firm's currency, per unit of its basis."""

    basis: FeeBasis
    amount_cents: int
    minimum_cents: int = 0
