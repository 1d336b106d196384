"""Which rules of law bind a bed, by what is recorded of it; the rest is advice and says so."""

from __future__ import annotations

from typing import Any, Final

from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.places import Bed
from service.rules.lookup import Law, LawFacts, Ruled

# Who carries: the firm whose day it is.
FIRM: Final = "firm"
MISSING_WORDS: Final = {
    "ground": "what kind of ground it is (ground_kind)",
    "basis": "which exemption it has (legal_basis.exemption)",
    "carrier": "who carries",
}


def law_facts(bed: Bed, jurisdiction: str) -> LawFacts:
    """Return what is recorded of a bed that a law could ask for."""
    return LawFacts(
        jurisdiction=jurisdiction,
        ground=None if bed.ground_kind is None else bed.ground_kind.value,
        basis=_basis(bed.legal_basis),
        carrier=FIRM,
    )


def law_told(ruled: Ruled) -> dict[str, Any]:
    """Return, as facts, whether it is law here, what is missing to tell, and whom to ask."""
    told: dict[str, Any] = {"law": ruled.law.value}
    if ruled.law is Law.BINDS:
        told["clause"] = ruled.row.where
    if ruled.law is Law.NOT_KNOWN:
        told |= {"missing": list(ruled.missing), "ask": ruled.ask}
    return told


def law_words(ruled: Ruled) -> str:
    """Return what a sentence adds where nobody knows whether it is law here; else nothing."""
    if ruled.law is not Law.NOT_KNOWN:
        return ""
    missing = " and ".join(MISSING_WORDS[name] for name in ruled.missing)
    return f" Whether this is law here is not known: record {missing}, or ask {ruled.ask}."


def _basis(basis: LegalBasis) -> str | None:
    if basis.exemption is not None:
        return basis.exemption.value
    return None if basis.kind is LegalBasisKind.REGISTERED_EXEMPTION else basis.kind.value
