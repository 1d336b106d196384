"""The words of records as people pick them in forms and write them in sheets."""

from __future__ import annotations

from typing import Any, Final

from service.core.acceptance.fees import FeeBasis
from service.core.materials import GrassKind, LotStatus
from service.core.permission.consent import ConsentState
from service.core.permission.legal_basis import Exemption, GroundKind, LegalBasisKind
from service.core.places import Animals, Drainage
from service.documents.rendering.language import LANGUAGES, language
from service.pages.words import STATUSES

AREA_UNITS: Final = {
    "m2": "m²",
    "[sft_i]": "ft²",
    "1000.[sft_i]": "1000 ft²",
    "[syd_i]": "yd²",
    "har": "hectares",
    "43560.[sft_i]": "acres",
    "[acr_us]": "acres (US survey)",
    "[acr_br]": "acres (British, before 1959)",
}
LANGUAGE_CHOICES: Final = {code: language(code).sentences["language.name"] for code in LANGUAGES}
GRASS: Final = {
    GrassKind.COOL_SEASON: "cool season",
    GrassKind.WARM_SEASON: "warm season",
    GrassKind.MIXED: "mixed",
    GrassKind.UNKNOWN: "not known",
}
CONSENTS: Final = {
    ConsentState.GIVEN: "agreed",
    ConsentState.REFUSED: "refused",
    ConsentState.WITHDRAWN: "withdrawn",
    ConsentState.NOT_ASKED: "not asked",
}
BASES: Final = {
    LegalBasisKind.GROWN_ON_SAME_PROPERTY: "grown on the same property",
    LegalBasisKind.REGISTERED_EXEMPTION: "registered exemption",
    LegalBasisKind.GENERAL_EXEMPTION: "general exemption",
    LegalBasisKind.PERMIT: "permit",
    LegalBasisKind.NOT_ESTABLISHED: "not known",
}
EXEMPTIONS: Final = {
    Exemption.U11: "U11",
    Exemption.U12: "U12",
    Exemption.U13: "U13",
    Exemption.OTHER: "another",
}
GROUNDS: Final = {kind: kind.value.replace("_", " ") for kind in GroundKind}
DRAINAGES: Final = {
    Drainage.FREE: "free",
    Drainage.MODERATE: "moderate",
    Drainage.POOR: "poor",
    Drainage.UNKNOWN: "not known",
}
ANIMALS: Final = {
    Animals.DOGS_OR_CATS: "dogs or cats",
    Animals.POULTRY: "poultry",
    Animals.GRAZING: "grazing animals",
    Animals.HORSES: "horses",
}
NO_ANIMALS: Final = "none"
ANIMALS_OR_NONE: Final[dict[Any, str]] = {**ANIMALS, NO_ANIMALS: NO_ANIMALS}
FEES: Final = {
    FeeBasis.PER_TONNE: "per tonne",
    FeeBasis.PER_M3: "per m³",
    FeeBasis.PER_LOAD: "per load",
}
# What a site can say that it takes; littered it never may, and of sour it says it apart.
ACCEPTED: Final = {
    status: STATUSES[status.value]
    for status in LotStatus
    if status not in {LotStatus.LITTERED, LotStatus.SOUR}
}
WEEK: Final = {name: name for name in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")}
