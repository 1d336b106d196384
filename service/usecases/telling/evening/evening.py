"""What a day came to and what is still open of it, with whose word each open item waits for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from math import ceil
from typing import Any, Final
from uuid import UUID

from service.core.loads import Load, LoadState
from service.core.mass_book import ELSEWHERE, MassMoved
from service.core.places import DestinationKind
from service.usecases.telling.decisions.decision import Decision
from service.usecases.telling.evening.amounts import Amount, came_to_places, hundred_grams
from service.usecases.telling.warnings.subjects import MARK, named, unsaid

STAYED: Final = frozenset({LoadState.DELIVERED, LoadState.PARTLY_REFUSED})
CREW, DISPATCHER, CLIENT, SITE = "crew", "dispatcher", "client", "site"
# Who knows what is asked; everything else is for the dispatcher to say.
OWNERS: Final = {
    "turned_away": CREW,
    "aboard_overnight": CREW,
    "going_sour": CREW,
    "gone_sour": CREW,
    "long_under_way": CREW,
    "at_gate": CREW,
    "ground_word_old": CREW,
    "consent_ends": CLIENT,
    "consent_ended": CLIENT,
    "consent_month_reached": CLIENT,
    "site_word_old": SITE,
    "site_shuts_first": SITE,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sum:
    """What stayed at one kind of place by the mass book: estimated, weighed where it counts [kg].

    Of a bay: what came there on the day and lies there still. ``loads``, ``weighed`` and the fees
    are of the tips of the day; what went elsewhere in words was none.
    """

    kind: str
    loads: int
    low_kg: float
    likely_kg: float
    high_kg: float
    weighed: int
    weighed_kg: float
    estimated_of_weighed_kg: float
    fee_cents: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenItem:
    """Something that is not finished, and who can finish it.

    ``subject`` is whom it is about where the sentence does not say it; of ``count`` of them.
    """

    code: str
    owner: str
    sentence: str
    subject: str = ""
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Evening:
    """A day as it stands: sums, what was left on lawns, what is open, what is not due yet."""

    sums: tuple[Sum, ...]
    left_kg: float
    still_open: tuple[OpenItem, ...]
    lawns_ahead: int = 0
    loads_ahead: int = 0

    def to_json(self) -> dict[str, Any]:
        """Return it, JSON-ready."""
        return {
            "sums": [
                {k: hundred_grams(v) if isinstance(v, float) else v for k, v in asdict(one).items()}
                for one in self.sums
            ],
            "left_on_lawns_kg": hundred_grams(self.left_kg),
            "still_open": [asdict(one) for one in self.still_open],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class OnRecord:
    """What the records say of a day by now: a plan may not know of the last of them yet.

    Attributes
    ----------
    aboard_high_kg
        By registration, the high end of what was cut on the day or before and is in a body [kg],
        but of those that are to tip later.
    left_kg
        What was left on lawns by what is mown, likely [kg]: nobody carried or paid it.
    not_mown
        Whose lawn each job is on that is still planned, though its time is over.
    going
        The loads that are on their way, or planned with anything that is not tipped, though their
        time is over.
    lawns_ahead, loads_ahead
        How many are planned for later.
    vehicles
        Registrations, by id.
    """

    aboard_high_kg: Mapping[str, float] = field(default_factory=dict)
    left_kg: float = 0.0
    not_mown: tuple[str, ...] = ()
    going: frozenset[UUID] = frozenset()
    lawns_ahead: int = 0
    loads_ahead: int = 0
    vehicles: Mapping[UUID, str] = field(default_factory=dict)


def evening_of(
    loads: Sequence[Load],
    moved: Sequence[MassMoved],
    found: OnRecord,
    decisions: Iterable[Decision],
    *,
    unplanned_events: int = 0,
) -> Evening:
    """Return how a day stands in the evening: its loads that count, its book, its records."""
    return Evening(
        sums=tuple(sums_of(loads, moved)),
        left_kg=found.left_kg,
        still_open=(
            *_unfinished(found, loads, unplanned_events),
            *_undecided(decisions),
        ),
        lawns_ahead=found.lawns_ahead,
        loads_ahead=found.loads_ahead,
    )


def _undecided(decisions: Iterable[Decision]) -> Iterator[OpenItem]:
    """Yield what waits for a word."""
    for one in decisions:
        yield OpenItem(
            code=one.code,
            owner=OWNERS.get(one.code, DISPATCHER),
            sentence=one.sentence,
            subject=MARK.join(unsaid(one.subject, one.sentence)),
            count=one.count,
        )


def sums_of(loads: Sequence[Load], moved: Sequence[MassMoved]) -> Iterator[Sum]:
    """Yield what stayed where, one a kind; the ends add up, as the lots of a day err together."""
    amounts: dict[str, Amount] = defaultdict(Amount)
    for kind, _, one in came_to_places(moved):
        amounts[kind].add(one)
    for kind in (*DestinationKind, ELSEWHERE):
        own = [load for load in loads if load.destination_kind == kind and load.state in STAYED]
        if own or kind in amounts:
            amount = amounts[kind]
            yield Sum(
                kind=str(kind),
                loads=len(own),
                low_kg=amount.mass_kg["low"],
                likely_kg=amount.mass_kg["likely"],
                high_kg=amount.mass_kg["high"],
                weighed=sum(load.weight_counts for load in own),
                weighed_kg=amount.weighed_kg,
                estimated_of_weighed_kg=amount.estimated_of_weighed_kg,
                fee_cents=sum(load.fee_cents for load in own),
            )


def _unfinished(
    found: OnRecord, loads: Sequence[Load], unplanned_events: int
) -> Iterator[OpenItem]:
    """Yield what is not finished: what stays on wheels rots there over night."""
    for registration, high_kg in found.aboard_high_kg.items():
        sentence = f"{registration} has up to {ceil(high_kg)} kg aboard."
        yield OpenItem(code="aboard", owner=CREW, sentence=sentence)
    waiting = [load.vehicle_id for load in loads if load.id in found.going]
    if waiting:
        yield OpenItem(
            code="loads_open",
            owner=CREW,
            sentence=(
                f"{_counted(len(waiting), 'load')} planned or on the way, with no end on record."
            ),
            subject=named([found.vehicles.get(one, "a vehicle") for one in dict.fromkeys(waiting)]),
            count=len(waiting),
        )
    if found.not_mown:
        yield OpenItem(
            code="jobs_open",
            owner=CREW,
            sentence=f"{_counted(len(found.not_mown), 'lawn')} planned and not reported mown.",
            subject=named(list(dict.fromkeys(found.not_mown))),
            count=len(found.not_mown),
        )
    if unplanned_events:
        sentence = f"{_counted(unplanned_events, 'record')} not in the newest plan."
        yield OpenItem(code="not_planned", owner=DISPATCHER, sentence=sentence)


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing} is" if number == 1 else f"{number} {thing}s are"
