"""The table of kinds of destination: one row a kind, from which everything else follows.

Books and their pages, database, plan, prices, hold, what is told: whoever needs to know what a
kind is reads it here, and nobody lists the kinds again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Final
from uuid import UUID

from service.core.places import (
    Bed,
    CompostSite,
    Depot,
    DestinationKind,
    HoldBay,
    Point,
    Property,
)
from service.core.plans import RuleClass
from service.core.records import Record
from service.destinations.bed import ready_beds
from service.destinations.compost_site import ready_sites
from service.destinations.hold_bay import ready_bays
from service.destinations.ready import DepotDay, ReadyDestination

# What the planner calls a place that is nobody's last one; it never proposes to go there instead.
PLANNER_HOLD: Final = "hold"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of destination.

    Attributes
    ----------
    record
        The frozen dataclass of its records: with ``id``, ``name`` and ``version``.
    one, many
        Its name in sentences.
    repository
        Where its records are kept: an attribute of the unit of work, and the table's name.
    references
        Field of the record that holds an id -> repository it must be found in. With ``depot_id``
        in it, a depot sees its own only.
    named_by
        What else than loads may name a record: repository and field.
    point
        Where one is: of its record, the depot and the firm's properties.
    ready
        What makes the records of the kind ready for a depot's day.
    stop_cents
        What a stop there counts in a plan, whatever is tipped. Common practice, no source.
    planner_word
        What the planner calls it; it tells kinds apart by it, and knows only ``hold``.
    overflows_like
        The place of the rule ``overflow_chance_told_above`` that holds for it.
    is_hold
        Whether clippings only wait there. Then they are told as held, with a reason, an end and a
        clock; nobody is asked whether more may come; nothing that may stay elsewhere goes there.
    holding_cents_per_t
        What holding counts in a plan [1/100 per t]; nobody pays it.
    one_no_is_for_all
        Whether who turns a load away gets nothing more that day; else only nothing of its lots.
    no_is_by
        Whose word it is when a load is turned away.
    """

    record: type[Record]
    one: str
    many: str
    repository: str
    point: Callable[[Any, Depot, Mapping[UUID, Property]], Point]
    ready: Callable[[Sequence[Any], DepotDay], list[ReadyDestination]]
    stop_cents: int
    planner_word: str
    overflows_like: str
    references: Mapping[str, str] = field(default_factory=dict)
    named_by: tuple[tuple[str, str], ...] = ()
    is_hold: bool = False
    holding_cents_per_t: int = 0
    one_no_is_for_all: bool = False
    no_is_by: RuleClass = RuleClass.SITE


# In the order in which they are planned and told.
KINDS: Final[Mapping[DestinationKind, Kind]] = MappingProxyType(
    {
        DestinationKind.BED: Kind(
            record=Bed,
            one="bed",
            many="beds",
            repository="beds",
            references={"property_id": "properties"},
            point=lambda bed, _, properties: bed.point or properties[bed.property_id].point,
            ready=ready_beds,
            stop_cents=300,
            planner_word="bed",
            overflows_like="bed",
            one_no_is_for_all=True,
            no_is_by=RuleClass.CLIENT,
        ),
        DestinationKind.COMPOST_SITE: Kind(
            record=CompostSite,
            one="compost site",
            many="compost sites",
            repository="compost_sites",
            point=lambda site, *_: site.point,
            ready=ready_sites,
            stop_cents=500,
            planner_word="site",
            overflows_like="compost_site",
        ),
        DestinationKind.HOLD_BAY: Kind(
            record=HoldBay,
            one="hold bay",
            many="hold bays",
            repository="hold_bays",
            references={"depot_id": "depots"},
            named_by=(("hold_entries", "hold_bay_id"),),
            point=lambda _, depot, __: depot.point,
            ready=ready_bays,
            stop_cents=200,
            planner_word=PLANNER_HOLD,
            overflows_like="hold_bay",
            is_hold=True,
            holding_cents_per_t=25_000,
        ),
    }
)
COLLECTABLE: Final = frozenset(word for word, kind in KINDS.items() if not kind.is_hold)
HELD: Final = frozenset(KINDS) - COLLECTABLE
RANKS: Final = {word: rank for rank, word in enumerate(KINDS)}


def faults_of(kinds: Mapping[DestinationKind, Kind]) -> list[str]:
    """Return what is wrong with a table of kinds: it is looked at before anything is served."""
    listed = set(kinds)
    # Clippings that stay on the lawn are driven nowhere.
    wanted = set(DestinationKind) - {DestinationKind.LAWN}
    faults = [f"{word.value} has no row in the table of kinds" for word in sorted(wanted - listed)]
    faults += [f"{word.value} is no destination" for word in sorted(listed - wanted)]
    for name in ("record", "repository", "planner_word"):
        values = [getattr(kind, name) for kind in kinds.values()]
        faults += [f"two kinds have the {name} {one}" for one in values if values.count(one) > 1]
    faults += [
        f"{word.value}: only what is held is called {PLANNER_HOLD}, and all of it"
        for word, kind in kinds.items()
        if kind.is_hold != (kind.planner_word == PLANNER_HOLD)
    ]
    return faults


def is_hold(word: DestinationKind | str) -> bool:
    """Return whether clippings only wait at destinations of this kind."""
    return KINDS[DestinationKind(word)].is_hold


def no_such_places(kinds: Mapping[DestinationKind, Kind]) -> str:
    """Return that a firm has none of some kinds, such as "no bed and no compost site"."""
    *words, last = (f"no {kind.one}" for kind in kinds.values())
    return f"{', '.join(words)} and {last}" if words else last


if found := faults_of(KINDS):
    raise TypeError("; ".join(found))
