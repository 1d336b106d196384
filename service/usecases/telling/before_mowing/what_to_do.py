"""What a crew does with a lawn's clippings, in one sentence that says what they count as."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from service.core.materials import LotStatus, worst_status
from service.usecases.telling.before_mowing.by_plan import MIXED, told
from service.usecases.telling.before_mowing.mixing import IS_SPOILED
from service.usecases.telling.told.before_mowing import LotPlan, SaidTold
from service.usecases.telling.told.lots import LEAVE

HOLD: Final = "collect_to_hold"
# What is to be done names the place, or the lawn: the plan's sentence of one tip says no more.
SAYS_AS_MUCH: Final = {
    "bag_only_for": "tipped_by_plan",
    "leave_it": "stays_by_plan",
    "leave_it_as": "stays_by_plan",
}


def what_to_do(
    answer: str, status: LotStatus, plan: LotPlan, *, takers: Sequence[str] = ()
) -> SaidTold:
    """Return what is to be done; of what does not count as clean, never without its status.

    Who reads no further must not take unknown grass for clean, nor bring it elsewhere.

    Parameters
    ----------
    answer
        One of the words of a pre-mow check.
    status
        What the lot counts as by itself.
    plan
        Where the plan tips it, and what other lots make of it there.
    takers
        Who would take it, where that is few enough to be named and no plan says where it goes.
    """
    mixed = (LotStatus(str(said.facts["status"])) for said in plan.says if said.code == MIXED)
    counts_as = worst_status([status, *mixed])
    places = list(dict.fromkeys(tip.name for tip in plan.tips if tip.name)) or list(takers)
    if counts_as is LotStatus.CLEAN:
        return _clean(answer, plan)
    if answer == LEAVE:
        return told("leave_it_as", status=counts_as.value)
    if places:
        return told("bag_only_for", places=places, status=counts_as.value)
    return told("hold_it_as" if answer == HOLD else "bag_it_as", status=counts_as.value)


def _clean(answer: str, plan: LotPlan) -> SaidTold:
    if answer == LEAVE:
        return told("leave_it")
    if plan.mixing is not None and plan.mixing.code == IS_SPOILED:
        return told("bag_apart", status=plan.mixing.facts["status"])
    return told("hold_it" if answer == HOLD else "bag_it")
