"""The answer before mowing where the day's plan has another: the plan's word."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.core.plans import RuleClass
from service.usecases.telling.before_mowing.by_plan import MIXED
from service.usecases.telling.before_mowing.mixing import ON_RECALLED
from service.usecases.telling.before_mowing.what_to_do import HOLD
from service.usecases.telling.told.before_mowing import LotPlan
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.lots import LEAVE, LEFT

_HELD: Final = "hold"
_OF_AN_ANSWER: Final = ("answer", "must", "code", "sentence", "rule_class", "facts", "sources")


def as_the_plan_has_it(general: Mapping[str, Any], plan: LotPlan) -> dict[str, Any]:
    """Return the answer that a crew acts on, and what would hold without the plan.

    Somebody may take such grass on this day, and yet the plan finds no room or time for this lot:
    bagged, it would have no place. Nor is anything bagged on top of what is recalled. And what the
    plan tips with worse grass counts as that: who else would take it is no answer.

    Parameters
    ----------
    general
        The answer to the lawn and its grass alone.
    plan
        What the plan tells of the job.
    """
    on_recalled = plan.mixing is not None and plan.mixing.code == ON_RECALLED
    is_left = plan.outcome in LEFT and not plan.tips
    if general["answer"] == LEAVE:
        return {**general, "without_plan": None}
    if not (is_left or on_recalled):
        return _with_worse(general, plan)
    # The reason stands last: that it stays, then why.
    why = plan.mixing if on_recalled else plan.says[-1]
    return {
        **general,
        "answer": LEAVE,
        "must": on_recalled,
        "rule_class": (RuleClass.SITE if on_recalled else RuleClass.ADVICE).value,
        "sources": [],
        **plain(why),
        "without_plan": _of_an_answer(general),
    }


def _with_worse(general: Mapping[str, Any], plan: LotPlan) -> dict[str, Any]:
    """Return the answer to what is bagged: where the plan mixes it with worse grass, that."""
    worse = next((said for said in plan.says if said.code == MIXED), None)
    if worse is None:
        return {**general, "without_plan": None}
    return {
        **general,
        "answer": HOLD if plan.outcome == _HELD else general["answer"],
        "rule_class": RuleClass.ADVICE.value,
        "sources": [],
        **plain(worse),
        "without_plan": _of_an_answer(general),
    }


def _of_an_answer(general: Mapping[str, Any]) -> dict[str, Any]:
    return {name: general[name] for name in _OF_AN_ANSWER}
