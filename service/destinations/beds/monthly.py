"""What a bed got in a month, and what one registered exemption may take: that is of the place."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from service.core.permission.legal_basis import Exemption
from service.core.places import Bed
from service.destinations.beds.law import law_facts, law_told
from service.destinations.laid.ledger import BedLedger, TakenToday
from service.destinations.ready import DepotDay
from service.destinations.reasons import class_here
from service.destinations.verdicts import Limit, whole_kg
from service.rules.here import RulesHere
from service.rules.lookup import Law, RuleNotInForce

# "In any month": the longest there is, so that none is missed; the day itself is one of them.
WINDOW_DAYS: Final = 30


def brought_in_month_kg(ledger: BedLedger, taken: TakenToday, day: date) -> float:
    """Return what one bed got in the month up to the day, at the high end or as weighed."""
    return ledger.mass_kg(day=day, window_days=WINDOW_DAYS) + taken.mass_kg


def month_kg(bed: Bed, beds: Sequence[Bed], at: DepotDay) -> float:
    """Return what the beds of a bed's registration got in the month up to the day, at the high end.

    An exemption is registered for a place: beds with the same reference share its limit.
    """
    if bed.legal_basis.exemption is not Exemption.U12:
        return 0.0
    reference = bed.legal_basis.reference
    return sum(
        brought_in_month_kg(at.ledgers[one.id], TakenToday.by(at.loads_to(one.id), at.jobs), at.day)
        for one in beds
        if one.id == bed.id
        or (
            reference is not None
            and one.legal_basis.exemption is Exemption.U12
            and one.legal_basis.reference == reference
        )
    )


def monthly_limit(bed: Bed, *, laid_kg: float, here: RulesHere) -> Limit | None:
    """Return what the law leaves of the month, or None where no such law binds the bed."""
    try:
        ruled = here.ruled("mulch_kg_per_month_max", law_facts(bed, here.jurisdiction))
    except RuleNotInForce:
        return None
    if ruled.law is not Law.BINDS:
        return None
    left_kg = max(0.0, ruled.row.value - laid_kg)
    return Limit(
        mass_kg=left_kg,
        code="monthly_mulch",
        sentence=(
            f"This bed's exemption takes at most {ruled.row.value / 1000:g} t of mulch in a month; "
            f"{laid_kg:.0f} kg are laid already: {whole_kg(left_kg)} kg left."
        ),
        rule_class=class_here(ruled),
        facts={
            "mulch_max_kg": ruled.row.value,
            "laid_in_month_kg": round(laid_kg),
            **law_told(ruled),
        },
        sources=ruled.row.sources,
    )
