"""Loads that lie on a bed though law, its client or its year has no room for so much."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.core.loads import Load
from service.core.places import Bed, DestinationKind
from service.core.plans import RuleClass
from service.destinations.bed import bed_on
from service.destinations.layer_depth import layer_depths
from service.destinations.verdicts import Limit
from service.destinations.weighed import counted_amounts
from service.rules.lookup import Rulebook
from service.usecases.day.destinations import depot_day
from service.usecases.day.facts import DayFacts
from service.usecases.mass_book.movements import TIPPED_STATES


@dataclass(frozen=True, slots=True, kw_only=True)
class OverLimit:
    """A tip that is more than limits of its bed leave room for.

    Attributes
    ----------
    low_kg, likely_kg, high_kg
        What of it lies there: three times the weight where one counts.
    broken
        What it breaks, as it stood when the load came: of each class the least, the least first.
    """

    load: Load
    bed: Bed
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
    """Yield the loads tipped on a day, by their hours, that their beds had no room for."""
    beds = {bed.id: bed for bed in facts.beds}
    for load in sorted(facts.fixed_loads, key=_came):
        if load.destination_kind is DestinationKind.BED and load.destination_id in beds:
            over = over_limit(load, beds[load.destination_id], facts, rulebook=rulebook)
            if over is not None:
                yield over


def over_limit(load: Load, bed: Bed, facts: DayFacts, *, rulebook: Rulebook) -> OverLimit | None:
    """Return what a load that was tipped breaks of its bed; None: it had room, or is not there.

    What came to any bed before it took its room; what came later did not.
    """
    if load.state not in TIPPED_STATES or load.mass_kg.high <= 0.0:
        return None
    before = tuple(
        one for one in facts.spoken_for if one.id != load.id and _came(one) < _came(load)
    )
    at = replace(depot_day(facts, rulebook=rulebook), loads=before)
    depths = layer_depths(here=at.here)
    amounts = counted_amounts(load, facts.known_jobs)
    share = 1.0 if load.weight_counts else load.kept_share
    mass_kg = amounts.mass_kg.scaled(share, unit="kg")
    broken = bed_on(bed, facts.beds, at, depths=depths).broken_by(
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
        bed=bed,
        broken=tuple(least.values()),
        low_kg=mass_kg.low,
        likely_kg=mass_kg.likely,
        high_kg=mass_kg.high,
    )


def _came(load: Load) -> tuple[object, object]:
    return load.done_at or load.arrive_at, load.id
