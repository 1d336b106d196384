"""What limits all that comes to a bed in a visit or a year, however it is laid, in words."""

from __future__ import annotations

from service.agronomy.layers.bed_room import LedgerSums
from service.core.plans import RuleClass
from service.destinations.beds.law import law_told, law_words
from service.destinations.reasons import class_here
from service.destinations.verdicts import Limit, whole_kg
from service.rules.lookup import Ruled


def visit_limit(visit_max_kg: float, *, taken_kg: float) -> Limit:
    """Return what is left of what a client takes a visit, after other loads of the day."""
    left_kg = max(0.0, visit_max_kg - taken_kg)
    said = f"The client takes at most {visit_max_kg:g} kg a visit"
    if taken_kg > 0.0:
        said += f"; other loads of the day are up to {taken_kg:.0f} kg, {whole_kg(left_kg)} kg left"
    return Limit(
        mass_kg=left_kg,
        code="consent_mass",
        sentence=f"{said}.",
        rule_class=RuleClass.CLIENT,
        facts={"mass_per_visit_max_kg": visit_max_kg},
    )


def month_limit(month_max_kg: float, *, brought_kg: float) -> Limit:
    """Return what is left of what a client takes in a month."""
    left_kg = max(0.0, month_max_kg - brought_kg)
    return Limit(
        mass_kg=left_kg,
        code="consent_month_mass",
        sentence=(
            f"The client takes at most {month_max_kg:g} kg in a month; {brought_kg:.0f} kg were "
            f"brought: {whole_kg(left_kg)} kg left."
        ),
        rule_class=RuleClass.CLIENT,
        facts={"mass_per_month_max_kg": month_max_kg, "brought_in_month_kg": round(brought_kg)},
    )


def mass_limit(mass_kg: float, ruled: Ruled, laid: LedgerSums, *, area_m2: float) -> Limit:
    """Return what a year leaves of plant matter: so much of any lot."""
    laid_kg_per_m2 = laid.mass_kg_per_m2
    return Limit(
        mass_kg=mass_kg,
        code="yearly_mass",
        sentence=(
            f"{ruled.row.value:g} kg/m2 in 12 months, {laid_kg_per_m2:.2f} already laid, "
            f"other loads of today counted, on {area_m2:g} m²: {whole_kg(mass_kg)} kg left."
            f"{law_words(ruled)}"
        ),
        rule_class=class_here(ruled),
        facts={
            "mass_max_kg_per_m2": ruled.row.value,
            "laid_kg_per_m2": round(laid_kg_per_m2, 3),
            **law_told(ruled),
        },
        sources=ruled.row.sources,
    )


def nitrogen_limit(mass_kg: float, ruled: Ruled, laid: LedgerSums) -> Limit:
    """Return what a year leaves of nitrogen: so much of a lot with as much in it as asked about."""
    laid_kg_per_ha = laid.nitrogen_kg_per_ha
    return Limit(
        mass_kg=mass_kg,
        code="yearly_nitrogen",
        sentence=(
            f"{ruled.row.value:g} kg N/ha in 12 months, {laid_kg_per_ha:.0f} already laid, other "
            f"loads of today counted: {whole_kg(mass_kg)} kg of this lot.{law_words(ruled)}"
        ),
        rule_class=class_here(ruled),
        facts={
            "nitrogen_max_kg_per_ha": ruled.row.value,
            "laid_nitrogen_kg_per_ha": round(laid_kg_per_ha, 1),
            **law_told(ruled),
        },
        sources=ruled.row.sources,
    )
