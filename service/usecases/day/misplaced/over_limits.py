"""Loads that lie where there was no room for so much: by law, its client, its year, its size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.core.loads import Load
from service.core.plans import RuleClass
from service.destinations.laid.tipped import broken_of, let_in
from service.destinations.verdicts import Limit
from service.destinations.weighed import counted_amounts
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import is_hold
from service.usecases.day.destinations import ready_then
from service.usecases.day.facts import DayFacts
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.mass_book.settled import came_at


@dataclass(frozen=True, slots=True, kw_only=True)
class OverLimit:
    """A tip that is more than limits of its place leave room for.

    Attributes
    ----------
    place
        Its name.
    low_kg, likely_kg, high_kg
        What of it lies there: three times the weight where one counts.
    broken
        What it breaks, as it stood when the load came: of each class the least, the least first.
    """

    load: Load
    place: str
    broken: tuple[Limit, ...]
    low_kg: float
    likely_kg: float
    high_kg: float

    @property
    def limit(self) -> Limit:
        """Return the limit that leaves the least, whosever it is: so much may stay."""
        return self.broken[0]

    def is_likely_over(self, limit: Limit) -> bool:
        """Return whether it is likely more; else it may be more, as wet as such grass can be."""
        return self.likely_kg > limit.mass_kg


def over_limits(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[OverLimit]:
    """Yield the loads tipped on a day, by their hours, that their places had no room for.

    Of a bay it is told what lies in it by now, however it came there.
    """
    for load in sorted(facts.fixed_loads, key=lambda one: (came_at(one), one.id)):
        if is_hold(load.destination_kind):
            continue
        over = over_limit(load, facts, rulebook=rulebook)
        if over is not None:
            yield over


def over_limit(load: Load, facts: DayFacts, *, rulebook: Rulebook) -> OverLimit | None:
    """Return what a load that was tipped breaks of its place; None: it had room, or is not there.

    What came there before it took its room; what came later did not.
    """
    if load.state not in TIPPED_STATES or load.mass_kg.high <= 0.0 or let_in(load):
        return None
    ready = ready_then(load, facts, rulebook=rulebook)
    if ready is None:
        return None
    amounts = counted_amounts(load, facts.known_jobs)
    share = 1.0 if load.weight_counts else load.kept_share
    mass_kg = amounts.mass_kg.scaled(share, unit="kg")
    broken = broken_of(
        ready.destination,
        mass_kg=mass_kg.high,
        volume_m3=amounts.volume_m3.high * share,
        nitrogen_kg=amounts.nitrogen_kg.high * share,
    )
    if not broken:
        return None
    order = tuple(RuleClass)
    least: dict[RuleClass, Limit] = {}
    for limit in sorted(broken, key=lambda one: (one.mass_kg, order.index(one.rule_class))):
        least.setdefault(limit.rule_class, limit)
    return OverLimit(
        load=load,
        place=ready.name,
        broken=tuple(least.values()),
        low_kg=mass_kg.low,
        likely_kg=mass_kg.likely,
        high_kg=mass_kg.high,
    )
