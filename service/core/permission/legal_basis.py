"""On what ground clippings may be spread on a bed, and what ground it is to the law."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class GroundKind(StrEnum):
    """What kind of ground it is to the law."""

    PRIVATE_GARDEN = "private_garden"
    PUBLIC_GROUND = "public_ground"
    BUSINESS_GROUND = "business_ground"
    FARM_HOLDING = "farm_holding"
    FARM_HOLDING_IN_NITRATE_ZONE = "farm_holding_in_nitrate_zone"


class LegalBasisKind(StrEnum):
    """On what ground clippings may be spread on a bed, and what ground it is to the law."""

    GROWN_ON_SAME_PROPERTY = "grown_on_same_property"
    REGISTERED_EXEMPTION = "registered_exemption"
    GENERAL_EXEMPTION = "general_exemption"
    PERMIT = "permit"
    NOT_ESTABLISHED = "not_established"


class Exemption(StrEnum):
    """Registered exemptions by their names in England and Wales; others by their reference."""

    U11 = "u11"
    U12 = "u12"
    U13 = "u13"
    OTHER = "other"


# Whose those names are: schedule 3 of SI 2016/1154 [uksi-2016-1154]. Of which country a place
# coded GB is, nobody said.
NAMED_IN = frozenset({"GB", "GB-ENG", "GB-WLS"})

# What an authority gave is worth what its register says: a reference, and until when.
REGISTERED = frozenset({LegalBasisKind.REGISTERED_EXEMPTION, LegalBasisKind.PERMIT})


@dataclass(frozen=True, slots=True, kw_only=True)
class LegalBasis:
    """The ground, which exemption it is, its reference and its last day.

    A registered exemption and a permit have a reference and a last day.
    """

    kind: LegalBasisKind = LegalBasisKind.NOT_ESTABLISHED
    exemption: Exemption | None = None
    reference: str | None = None
    expires_on: date | None = None

    def is_named_elsewhere(self, jurisdiction: str) -> bool:
        """Return whether it is an exemption that the law of a place does not know."""
        named = self.exemption not in {None, Exemption.OTHER}
        return named and jurisdiction not in NAMED_IN

    @property
    def missing(self) -> tuple[str, ...]:
        """Return the fields that a registered basis lacks."""
        if self.kind not in REGISTERED:
            return ()
        return tuple(name for name in ("reference", "expires_on") if getattr(self, name) is None)


# What a bed has on record as long as nobody says otherwise.
NONE_RECORDED = LegalBasis()
