"""What a bound of one vehicle rests on."""

from __future__ import annotations

from dataclasses import dataclass

from service.planning.arrays.tables import Whole
from service.planning.tip_plans.columns import Column, Tips
from service.planning.tip_plans.shortlists import Shortlist


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundBasis:
    """What is known of one vehicle at some prices, and where to look for more.

    Attributes
    ----------
    column
        A good tip plan; where it is late, lateness is priced.
    narrow, wide
        Candidates for plans, and all those that a plan below ``least`` may use.
    prices
        Units per kg of every destination, fee included.
    least
        No plan with a destination outside ``wide`` costs less at ``prices`` [units].
    tips
        Those that a bound below the plan stands for; they need not be a legal plan.
    """

    column: Column
    narrow: Shortlist
    wide: Shortlist
    prices: Whole
    least: int
    tips: Tips
