"""The answer before mowing where the day's plan leaves the grass on its lawn: the plan's word."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.core.plans import RuleClass
from service.usecases.telling.before_mowing.mixing import ON_RECALLED
from service.usecases.telling.told.before_mowing import LotPlan
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.lots import LEAVE, LEFT

_OF_AN_ANSWER: Final = ("answer", "must", "code", "sentence", "rule_class", "facts", "sources")


def as_the_plan_has_it(general: Mapping[str, Any], plan: LotPlan) -> dict[str, Any]:
    """Return the answer that a crew acts on, and what would hold without the plan.

    Somebody may take such grass on this day, and yet the plan finds no room or time for this lot:
    bagged, it would have no place. Nor is anything bagged on top of what is recalled.

    Parameters
    ----------
    general
        The answer to the lawn and its grass alone.
    plan
        What the plan tells of the job.
    """
    on_recalled = plan.mixing is not None and plan.mixing.code == ON_RECALLED
    is_left = plan.outcome in LEFT and not plan.tips
    if not (is_left or on_recalled) or general["answer"] == LEAVE:
        return {**general, "without_plan": None}
    # The reason stands last: that it stays, then why.
    why = plan.mixing if on_recalled else plan.says[-1]
    return {
        **general,
        "answer": LEAVE,
        "must": on_recalled,
        "rule_class": (RuleClass.SITE if on_recalled else RuleClass.ADVICE).value,
        "sources": [],
        **plain(why),
        "without_plan": {name: general[name] for name in _OF_AN_ANSWER},
    }
