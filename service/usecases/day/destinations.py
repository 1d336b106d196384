"""The day's destinations, ready to be asked, and what is left of their room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from uuid import UUID

from service.core.loads import Load, LoadState
from service.core.measures.units import date_words
from service.core.places import DestinationKind
from service.core.plans import RuleClass, Verdict
from service.destinations.heaps import as_measured_by
from service.destinations.laid.tipped import as_known_by
from service.destinations.ready import DepotDay, ReadyDestination
from service.destinations.reasons import Reason, refusal
from service.destinations.verdicts import Clippings, Lot, refused, verdict_on
from service.documents.rendering.reader import refusal_words
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import KINDS
from service.usecases.day.facts import DayFacts
from service.usecases.day.tainted import TaintingLot
from service.usecases.mass_book.settled import came_at


def ready_destinations(facts: DayFacts, *, rulebook: Rulebook) -> list[ReadyDestination]:
    """Return the destinations of the day, by kind in the order of the table, each by id."""
    at = depot_day(facts, rulebook=rulebook)
    found = [
        (word, ready)
        for word, kind in KINDS.items()
        for ready in kind.ready(facts.places[word], at)
    ]
    for word, ready in found:
        if ready.kind is not word:
            raise TypeError(f"a {word.value} calls itself a {ready.kind.value}")
    return [ready for _, ready in found]


def depot_day(facts: DayFacts, *, rulebook: Rulebook) -> DepotDay:
    """Return a day as far as its destinations may know of it."""
    return DepotDay(
        depot=facts.depot,
        day=facts.span.day,
        now=facts.now,
        second=facts.span.second,
        end_s=facts.span.second(facts.span.end),
        rulebook=rulebook,
        points=facts.points,
        loads=facts.spoken_for,
        own_loads=facts.fixed_loads,
        lying=facts.lying,
        jobs=facts.known_jobs,
        ledgers=facts.ledgers,
    )


def ready_now(load: Load, facts: DayFacts, *, rulebook: Rulebook) -> ReadyDestination | None:
    """Return the place of a load as it is now; None if it is not on record."""
    kind = load.destination_kind
    at = replace(depot_day(facts, rulebook=rulebook), only=load.destination_id)
    return next(iter(KINDS[kind].ready(facts.places[kind], at)), None)


def ready_then(load: Load, facts: DayFacts, *, rulebook: Rulebook) -> ReadyDestination | None:
    """Return the place of a load as it was when the load came, by the records of now; or None.

    What came before took its room, and what lay there lay there; what was said, seen or measured
    only later was not known yet.
    """
    came, kind = came_at(load), load.destination_kind
    before = tuple(
        one
        for one in facts.spoken_for
        if one.id != load.id and (came_at(one), one.id) < (came, load.id)
    )
    at = replace(
        depot_day(facts, rulebook=rulebook),
        now=came,
        day=came.astimezone(facts.span.zone).date(),
        loads=before,
        own_loads=(),  # what was still on its way to a bay did not lie there
        lying=tuple(
            as_measured_by(entry, came)
            for entry in facts.lying
            if entry.load_id != load.id
            and entry.held_since is not None
            and entry.held_since <= came
        ),
        only=load.destination_id,
    )
    places = [
        as_known_by(place, came) if place.id == load.destination_id else place
        for place in facts.places[kind]
    ]
    return next(iter(KINDS[kind].ready(places, at)), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Every lot's answer from every destination, by the lot's id: its job's unless it is held.

    ``position`` finds a destination's answer in a lot's verdicts. ``only_fresh`` tells of each lot
    which destinations take it now and would not once it has stood until it is sour.
    """

    lots: dict[UUID, Lot]
    destinations: tuple[ReadyDestination, ...]
    verdicts: dict[UUID, tuple[Verdict, ...]]
    by_id: dict[UUID, ReadyDestination]
    position: dict[UUID, int]
    only_fresh: dict[UUID, tuple[bool, ...]]

    def of(self, lot_id: UUID, kinds: frozenset[DestinationKind]) -> list[Verdict]:
        """Return the verdicts on a lot by destinations of these kinds."""
        return [verdict for verdict in self.verdicts[lot_id] if verdict.destination_kind in kinds]

    def of_mixture(self, lot_ids: Iterable[UUID]) -> tuple[Verdict, ...]:
        """Return what every destination says to lots that are mixed: what it says to the worst."""
        rows = [self.verdicts[lot_id] for lot_id in lot_ids]
        return tuple(
            min(said, key=lambda verdict: verdict.accepted_kg) for said in zip(*rows, strict=True)
        )


def ask_all(
    lots: dict[UUID, Lot], destinations: list[ReadyDestination], *, turned_away: TurnedAway
) -> Asked:
    """Return the verdict of every destination on every lot.

    Who turned a load away today is not asked again about those lots, or, as its kind has it, about
    any: a bed gets nothing more on the day.
    """
    asked = list(lots.values())
    kinds: dict[Clippings, int] = {}

    def kind_of(lot: Lot, property_id: UUID | None) -> int:
        return kinds.setdefault(lot.offered_to(property_id), len(kinds))

    soured = [lot.aged(lot.keeps_until) for lot in asked]
    # What a lot is now, and once it is sour, to whom it did not grow with.
    pairs = [
        (kind_of(lot, None), kind_of(sour, None)) for lot, sour in zip(asked, soured, strict=True)
    ]
    grown_on: dict[UUID | None, list[int]] = {}
    for number, lot in enumerate(asked):
        grown_on.setdefault(lot.property_id, []).append(number)
    # A day of a thousand lots has some dozen kinds of clippings: each is asked about once, and
    # lots that are told the same share a row.
    clippings = list(kinds)
    answers = [[one.destination.verdict(kind) for kind in clippings] for one in destinations]
    shared = {pair: _rows(answers, *pair) for pair in set(pairs)}
    own: dict[int, _Own] = {}
    for position, ready in enumerate(destinations):
        place = ready.destination.property_id
        for number in () if place is None else grown_on.get(place, ()):
            said, sour = (verdict_on(some[number], ready.destination) for some in (asked, soured))
            own.setdefault(number, _Own()).put(position, said, sour)
        if ready.id in turned_away.loads or ready.id in turned_away.tainted:
            for number, lot in enumerate(asked):
                refused = turned_away.verdict(ready, lot)
                if refused is not None:
                    own.setdefault(number, _Own()).verdicts[position] = refused
    rows = [
        shared[pair] if number not in own else own[number].over(*shared[pair])
        for number, pair in enumerate(pairs)
    ]
    return Asked(
        lots=lots,
        destinations=tuple(destinations),
        verdicts={lot.id: row for lot, (row, _) in zip(asked, rows, strict=True)},
        by_id={ready.id: ready for ready in destinations},
        position={ready.id: number for number, ready in enumerate(destinations)},
        only_fresh={lot.id: fresh for lot, (_, fresh) in zip(asked, rows, strict=True)},
    )


def _rows(
    answers: Sequence[Sequence[Verdict]], kind: int, sour: int
) -> tuple[tuple[Verdict, ...], tuple[bool, ...]]:
    """Return what destinations say to a kind of clippings, and which only while it is fresh."""
    return (
        tuple(told[kind] for told in answers),
        tuple(told[sour].refused and not told[kind].refused for told in answers),
    )


@dataclass(slots=True)
class _Own:
    """What a lot is told otherwise than its kind is, by the position of the destination."""

    verdicts: dict[int, Verdict] = field(default_factory=dict)
    fresh: dict[int, bool] = field(default_factory=dict)

    def put(self, position: int, said: Verdict, sour: Verdict) -> None:
        """Keep what the place it grew on says to it, and would once it is sour."""
        self.verdicts[position] = said
        self.fresh[position] = sour.refused and not said.refused

    def over(
        self, row: tuple[Verdict, ...], fresh: tuple[bool, ...]
    ) -> tuple[tuple[Verdict, ...], tuple[bool, ...]]:
        """Return a kind's rows with the lot's own answers in their places."""
        verdicts, only = list(row), list(fresh)
        for position, said in self.verdicts.items():
            verdicts[position] = said
        for position, is_only in self.fresh.items():
            only[position] = is_only
        return tuple(verdicts), tuple(only)


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnedAway:
    """Loads that were refused on arrival, or by who got them, by destination.

    Those of days before stand against their own lots only, but for what lies on a bed though its
    client said no since: nothing goes on top before it is taken up, or may stay. And the lots
    that taint a bed, by bed: it takes nothing more before somebody has settled what becomes of
    them.
    """

    loads: dict[UUID, tuple[Load, ...]]
    day: date
    tainted: Mapping[UUID, tuple[TaintingLot, ...]] = field(default_factory=dict)

    @classmethod
    def on(cls, facts: DayFacts) -> TurnedAway:
        """Return what was turned away on the day, whole or in part, and before."""
        found: dict[UUID, tuple[Load, ...]] = {}
        for load in (*facts.spoken_for, *facts.turned_away_before):
            is_refused = load.state in {LoadState.REFUSED, LoadState.PARTLY_REFUSED}
            if is_refused or load.waits_to_be_taken_up:
                found[load.destination_id] = (*found.get(load.destination_id, ()), load)
        return cls(loads=found, day=facts.span.day, tainted=facts.tainted)

    def verdict(self, ready: ReadyDestination, lot: Lot) -> Verdict | None:
        """Return the refusal of a destination that already said no today, or None."""
        kind = KINDS[ready.kind]
        for load in self.loads.get(ready.id, ()):
            same_lot = any(part.job_id == lot.job_id for part in load.parts)
            today = load.working_day >= self.day
            when = "today" if today else f"on {date_words(load.working_day)}"
            is_for_all = today or load.waits_to_be_taken_up
            if same_lot or (is_for_all and kind.one_no_is_for_all):
                return refused(
                    ready.kind,
                    ready.id,
                    refusal(
                        kind.no_is_by,
                        "turned_away_today" if today else "turned_away_before",
                        f"A load was turned away here {when}: "
                        f"{refusal_words(load.refusal_reason)}.",
                        load_id=str(load.id),
                        reason=load.refusal_reason,
                    ),
                )
        if ready.id in self.tainted:
            lot_codes = [lot.lot_code for lot in self.tainted[ready.id]]
            return refused(ready.kind, ready.id, tainted_reason(lot_codes))
        return None


def tainted_reason(lot_codes: Sequence[str]) -> Reason:
    """Return why nothing goes on top of lots that, by what is known now, may not lie there."""
    lots = ", ".join(lot_codes)
    return refusal(
        RuleClass.ADVICE,
        "bed_tainted",
        f"By what is known now, {lots} may not lie here: nothing goes on top before that "
        "is settled.",
        lots=lots,
    )
