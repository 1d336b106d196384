"""On what ground clippings may be spread on a bed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class LegalBasisKind(StrEnum):
    """On what ground clippings may be spread on a bed."""

    GROWN_ON_SAME_PROPERTY = "grown_on_same_property"
    REGISTERED_EXEMPTION = "registered_exemption"
    GENERAL_EXEMPTION = "general_exemption"
    PERMIT = "permit"
    NOT_ESTABLISHED = "not_established"


@dataclass(frozen=True, slots=True, kw_only=True)
class LegalBasis:
    """The ground, its reference and its last day."""

    kind: LegalBasisKind = LegalBasisKind.NOT_ESTABLISHED
    reference: str | None = None
    expires_on: date | None = None


# What a bed has on record as long as nobody says otherwise.
NONE_RECORDED = LegalBasis()
