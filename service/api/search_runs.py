"""How the planner's process answers a search on record: as the request itself is answered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Protocol, Unpack

from marshmallow import Schema

from service.api.desk.order_proposals import OrderWish
from service.api.failures.problems import told_refusal
from service.api.work.days.plans import DAY_PLANS, NewDayPlan
from service.api.work.days.supposing import Supposition
from service.core.callers.access import Caller
from service.core.errors import Refusal
from service.core.searches import SearchKind
from service.usecases.base.use_cases import ToKeep
from service.usecases.planning.propose_orders import ProposeOrders
from service.usecases.planning.searches.behind import Found, Run, SearchBehind
from service.usecases.planning.store_plan import PlanDay
from service.usecases.planning.what_if import WhatIf
from service.usecases.telling.told.forms import plain

Wanted = Mapping[str, Any]


class Answering(Protocol):
    """The use cases that answer."""

    @property
    def what_if(self) -> WhatIf:
        """The one that supposes."""
        ...

    @property
    def propose_orders(self) -> ProposeOrders:
        """The one that proposes."""
        ...

    @property
    def plan_day(self) -> PlanDay:
        """The one that plans."""
        ...


def search_behind(use_cases: Answering, **keeping: Unpack[ToKeep]) -> SearchBehind:
    """Return what searches behind, as these use cases answer."""
    runs = runs_of(use_cases.what_if, use_cases.propose_orders, use_cases.plan_day)
    return SearchBehind(**keeping, runs=runs)


def runs_of(
    what_if: WhatIf, propose_orders: ProposeOrders, plan_day: PlanDay
) -> dict[SearchKind, Run]:
    """Return how a request of each kind is answered from its body."""
    summary = DAY_PLANS.listed()

    def suppose(caller: Caller, wanted: Wanted) -> Wanted:
        told: Wanted = plain(what_if(caller, **wanted))
        return told

    def propose(caller: Caller, wanted: Wanted) -> Wanted:
        return propose_orders(caller, wanted["depot_id"], wanted["day"], wanted["wanted"])

    def plan(caller: Caller, wanted: Wanted) -> Wanted:
        told: Wanted = summary.dump(plan_day(caller, wanted["depot_id"], wanted["day"]))
        return told

    return {
        SearchKind.WHAT_IF: _run(Supposition(), suppose),
        SearchKind.ORDER_PROPOSAL: _run(OrderWish(), propose),
        SearchKind.DAY_PLAN: _run(NewDayPlan(), plan),
    }


def _run(schema: Schema, answer: Callable[[Caller, Wanted], Wanted]) -> Run:
    def run(caller: Caller, sent: Wanted) -> Found:
        try:
            return Found(answer=answer(caller, schema.load(sent)))
        except Refusal as refusal:
            return Found(answer=told_refusal(refusal), failed=True)

    return run
