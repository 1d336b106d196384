"""How much a bed had lately, and what the firm makes of it: a limit, a price.

The nearest willing bed would otherwise be the one that is buried. Both are the firm's own wish,
no rule: law, label and client limits hold beside them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from service.core.plans import RuleClass
from service.destinations.verdicts import Limit, whole_kg

# A month is taken as 30 calendar days, the day of planning included: common practice, no source.
FAIRNESS_DAYS: Final = 30
LIMIT_CODE: Final = "fairness_limit"


@dataclass(frozen=True, slots=True, kw_only=True)
class FairnessWish:
    """What a depot wishes: the most a bed gets in 30 days, and a price that rises with it.

    Attributes
    ----------
    limit_kg_per_m2
        High-end mass per area that no bed gets more than in 30 days [kg/m2]; None: no limit.
    price_cents_per_t_per_kg_per_m2
        What a tonne for a bed counts more for each kg/m2 it got in 30 days; None: nothing.
    """

    limit_kg_per_m2: float | None = None
    price_cents_per_t_per_kg_per_m2: int | None = None

    @property
    def is_nothing(self) -> bool:
        """Whether nothing is wished."""
        return self.limit_kg_per_m2 is None and not self.price_cents_per_t_per_kg_per_m2


@dataclass(frozen=True, slots=True, kw_only=True)
class BedFairness:
    """A wish, held against what one bed got in the 30 days that end with the day.

    Attributes
    ----------
    laid_kg_per_m2
        At the high end, with what is under way or delivered today [kg/m2].
    area_m2
        Area of the bed [m2].
    """

    wish: FairnessWish
    laid_kg_per_m2: float
    area_m2: float

    @property
    def price_cents_per_t(self) -> float:
        """Return what a tonne counts more on this bed today."""
        return (self.wish.price_cents_per_t_per_kg_per_m2 or 0) * self.laid_kg_per_m2

    @property
    def limit(self) -> Limit | None:
        """Return what the bed still gets by the firm's limit, or None without one."""
        most = self.wish.limit_kg_per_m2
        if most is None:
            return None
        mass_kg = max(0.0, most - self.laid_kg_per_m2) * self.area_m2
        return Limit(
            mass_kg=mass_kg,
            code=LIMIT_CODE,
            sentence=(
                f"The firm lays at most {most:g} kg/m2 on a bed in {FAIRNESS_DAYS} days; "
                f"{self.laid_kg_per_m2:.2f} already laid, other loads of today "
                f"counted, on {self.area_m2:g} m²: "
                f"{whole_kg(mass_kg)} kg left."
            ),
            rule_class=RuleClass.ADVICE,
            facts=self.facts,
        )

    @property
    def sentence(self) -> str:
        """Return what the bed had, and what is made of it."""
        most = self.wish.limit_kg_per_m2
        made = [] if most is None else [f"the fairness limit is {most:g} kg/m2"]
        if self.wish.price_cents_per_t_per_kg_per_m2:
            made.append(f"the {self._price_words()}")
        return (
            f"This bed has had {self.laid_kg_per_m2:.2f} kg/m2 in {FAIRNESS_DAYS} days; "
            f"{' and '.join(made)}."
        )

    def after(self, limit_code: str) -> str:
        """Return what is left to say after the sentence of the limit that binds."""
        if limit_code != LIMIT_CODE:
            return self.sentence
        return f"The {self._price_words()}." if self.wish.price_cents_per_t_per_kg_per_m2 else ""

    def _price_words(self) -> str:
        return (
            f"fairness price is {self.price_cents_per_t:.0f} cents a tonne "
            f"({self.wish.price_cents_per_t_per_kg_per_m2} for each kg/m2)"
        )

    @property
    def facts(self) -> dict[str, Any]:
        """Return the numbers behind the sentence."""
        return {
            "days": FAIRNESS_DAYS,
            "laid_kg_per_m2": round(self.laid_kg_per_m2, 3),
            "fairness_limit_kg_per_m2": self.wish.limit_kg_per_m2,
            "fairness_price_cents_per_t": round(self.price_cents_per_t),
        }
