"""Why a bed takes nothing of a lot: what was put on the lawn, what is in it, where it grew."""

from __future__ import annotations

from collections.abc import Iterator

from service.core.materials import LotStatus
from service.core.permission.legal_basis import Exemption, LegalBasisKind
from service.core.places import Bed
from service.core.plans import Ground, RuleClass
from service.destinations.beds.law import law_told
from service.destinations.freshness import sour_reason
from service.destinations.heaps import heap_reason
from service.destinations.reasons import Reason, refusal
from service.destinations.verdicts import Clippings, treatment_reason
from service.rules.lookup import Ruled

STATUS_SENTENCES = (
    (LotStatus.LITTERED, "There is litter in the lot; it is sorted in the hold bay first."),
    (LotStatus.UNKNOWN, "What was put on the lawn is not known; unknown is not clean."),
    (LotStatus.DISEASED, "The grass was diseased; only thorough composting ends that."),
    (LotStatus.WEEDY, "Weeds were in seed; only thorough composting ends that."),
)


def lot_reasons(bed: Bed, lot: Clippings, *, grown_here: Ruled) -> Iterator[Reason]:
    """Yield what in a lot stands against a bed, what is told first first.

    Parameters
    ----------
    grown_here
        What is ruled, on this bed, of clippings that grew elsewhere.
    """
    yield from _status_reasons(lot)
    for aged in (heap_reason(lot.held), sour_reason(lot)):
        if aged is not None:
            yield aged
    basis = bed.legal_basis
    asked = basis.kind is LegalBasisKind.GROWN_ON_SAME_PROPERTY or basis.exemption is Exemption.U13
    if asked and not lot.grown_here:
        yield refusal(
            grown_here,
            "not_grown_here",
            "This bed's legal basis covers only clippings cut on the same property.",
            ground=Ground.PAIR,
            **law_told(grown_here),
        )
    # What is named as sensitive is as easily harmed as what is eaten.
    delicate = bed.edible or bed.sensitive_plants
    wait = lot.waits.get("edible_bed") if delicate else None
    if wait is not None and not wait.over:
        yield treatment_reason(wait)


def _status_reasons(lot: Clippings) -> Iterator[Reason]:
    wait = lot.waits.get("bed")
    if wait is not None and not wait.over:
        yield treatment_reason(wait)
    for status, sentence in STATUS_SENTENCES:
        if status in lot.statuses:
            yield refusal(
                RuleClass.ADVICE,
                f"lot_{status.value}",
                sentence,
                ground=Ground.LOT,
                status=status.value,
            )
