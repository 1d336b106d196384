"""What a plan's kilometres, minutes and leftovers cost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from service.core.callers.access import Amendment
from service.core.places import Depot
from service.planning.model.problem import Costs
from service.rules.lookup import Rulebook, RuleNotInForce

# The firm's prices of a plan; common practice, no source. Whole hundredths of its currency.
COSTS = Costs(
    drive_cents_per_km=120,
    late_cents_per_min=150,
    overtime_cents_per_min=100,  # with the crew's own price in it, see ``costs_with``
    overflow_cents_per_kg=200,
    speed_m_per_min=500,  # not used: the service always hands in a matrix
    detour_permille=1000,  # nor this
    minimum_tip_kg=30,
    tips_between_jobs=2,
    unplaced_cents_per_kg=400,
    change_cents_per_stop=200,  # what sending a crew elsewhere than it was told is worth
)
MOST_WAITED_MIN = 240  # at one gate; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewMinute:
    """What a minute of a crew costs, and by whose word; None: it is not priced."""

    cents: int | None
    basis: str
    sources: tuple[str, ...] = ()

    def to_json(self) -> dict[str, object]:
        """Return it, JSON-ready."""
        return {"cents": self.cents, "basis": self.basis, "sources": list(self.sources)}


def crew_minute(depot: Depot, currency: str, day: date, *, rulebook: Rulebook) -> CrewMinute:
    """Return the depot's own price of a crew's minute, else that of the rule for its currency.

    The plan and the sums of a month ask here, and nowhere else.
    """
    if depot.crew_minute_cents is not None:
        return CrewMinute(cents=depot.crew_minute_cents, basis="The depot's own price.")
    try:
        row = rulebook.value_on(
            "crew_minute_cents", day, jurisdiction=depot.jurisdiction, currency=currency
        )
    except RuleNotInForce:
        basis = (
            f"Not priced: no rule has a wage in {currency} for this day. "
            "The depot may set crew_minute_cents."
        )
        return CrewMinute(cents=None, basis=basis)
    return CrewMinute(
        cents=round(row.value), basis=f"{row.scope}: {row.where}", sources=row.sources
    )


def as_priced_then(depot: Depot, changes: Iterable[Amendment], at: datetime) -> Depot:
    """Return the depot with the price of a crew's minute that it had at a moment.

    Parameters
    ----------
    changes
        What was amended of it, oldest first.
    """
    for amendment in reversed(list(changes)):
        change = amendment.changes.get("crew_minute_cents")
        if amendment.at >= at and isinstance(change, list | tuple):
            depot = replace(depot, crew_minute_cents=change[0])
    return depot


def costs_with(minute: CrewMinute) -> Costs:
    """Return the prices of a plan with a crew that is paid so much.

    A minute after the shift costs what it did while no other was priced, and its crew half as much
    again at least: 29 CFR 778.107 has one and one-half times the regular rate, which is law for
    many crews of the United States and common practice elsewhere.

    Waiting at a shut gate counts too. Nothing is to be left for that: what is left is dearer by as
    much as four hours of a crew cost for the smallest tip.
    """
    cents = minute.cents or 0
    more = max(COSTS.overtime_cents_per_min - cents, -(-cents // 2))
    left = COSTS.unplaced_cents_per_kg + cents * MOST_WAITED_MIN // COSTS.minimum_tip_kg
    return replace(
        COSTS,
        crew_cents_per_min=cents,
        overtime_cents_per_min=more,
        unplaced_cents_per_kg=left,
    )
