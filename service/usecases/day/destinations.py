"""The day's destinations, ready to be asked, and what is left of their room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from service.core.loads import Load, LoadState
from service.core.places import CompostSite, DestinationKind, Fee, FeeBasis, Point
from service.core.plans import RuleClass, Verdict
from service.destinations.bed import BedDestination
from service.destinations.bed_fairness import BedFairness, FairnessWish
from service.destinations.bed_ledger import TakenToday
from service.destinations.compost_site import CompostSiteDestination
from service.destinations.hold_bay import HoldBayDestination
from service.destinations.layer_depth import layer_depths
from service.destinations.verdicts import Clippings, Destination, Lot, Reason, refused
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts

KILOGRAMS_PER_TONNE = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyDestination:
    """A destination with what the planner and the reader need beside its verdicts.

    ``fairness`` is what a bed had lately if the depot minds.
    ``open_s`` and ``close_s`` are seconds of the working day. What loads under way or done today
    take of its room is in its verdicts.
    """

    destination: Destination
    name: str
    tip_s: int
    open_s: int
    close_s: int
    fee: Fee | None
    fairness: BedFairness | None = None

    @property
    def kind(self) -> DestinationKind:
        """Return its kind."""
        return self.destination.kind

    @property
    def id(self) -> UUID:
        """Return its record's id."""
        return self.destination.id

    @property
    def point(self) -> Point:
        """Return where it is."""
        return self.destination.point

    def fee_cents(self, *, mass_kg: float, volume_m3: float) -> int:
        """Return what one load of this much costs there, minimum included."""
        if self.fee is None:
            return 0
        amount = {
            FeeBasis.PER_TONNE: self.fee.amount_cents * mass_kg / KILOGRAMS_PER_TONNE,
            FeeBasis.PER_M3: self.fee.amount_cents * volume_m3,
            FeeBasis.PER_LOAD: float(self.fee.amount_cents),
        }[self.fee.basis]
        return max(round(amount), self.fee.minimum_cents)


def ready_destinations(facts: DayFacts, *, rulebook: Rulebook) -> list[ReadyDestination]:
    """Return beds, compost sites and hold bays of the day, in that order, each by id."""
    day = facts.span.day
    jurisdiction = facts.depot.jurisdiction
    whole_day_s = facts.span.second(facts.span.end)
    bed_tip_s = _tipping_s(rulebook, facts, "bed")
    bay_tip_s = _tipping_s(rulebook, facts, "hold")
    depths = layer_depths(rulebook=rulebook, day=day, jurisdiction=jurisdiction)
    wish = FairnessWish(
        limit_kg_per_m2=facts.depot.fairness_limit_kg_per_m2,
        price_cents_per_t_per_kg_per_m2=facts.depot.fairness_price_cents_per_t_per_kg_per_m2,
    )
    found = []
    for bed in facts.beds:
        destination = BedDestination(
            bed,
            point=facts.bed_points[bed.id],
            ledger=facts.ledgers[bed.id],
            depths=depths,
            rulebook=rulebook,
            day=day,
            jurisdiction=jurisdiction,
            taken=_taken_of_bed(facts.spoken_for, bed.id),
            fairness=wish,
        )
        found.append(
            ReadyDestination(
                destination=destination,
                name=bed.name,
                tip_s=bed_tip_s,
                open_s=0,
                close_s=whole_day_s,
                fee=None,
                fairness=destination.fairness,
            )
        )
    found += [_ready_site(site, facts, rulebook) for site in facts.sites]
    found += [
        ReadyDestination(
            destination=HoldBayDestination(
                bay,
                point=facts.depot.point,
                lying_m3=sum(
                    entry.volume_m3.high for entry in facts.lying if entry.hold_bay_id == bay.id
                )
                + sum(
                    load.volume_m3.high
                    for load in facts.fixed_loads
                    if load.destination_id == bay.id and load.state is LoadState.UNDER_WAY
                ),
                rulebook=rulebook,
                day=day,
                jurisdiction=jurisdiction,
            ),
            name=bay.name,
            tip_s=bay_tip_s,
            open_s=0,
            close_s=whole_day_s,
            fee=None,
        )
        for bay in facts.hold_bays
    ]
    return found


def _tipping_s(rulebook: Rulebook, facts: DayFacts, kind: str) -> int:
    minutes = rulebook.value_on(
        "tipping_minutes",
        facts.span.day,
        jurisdiction=facts.depot.jurisdiction,
        destination=kind,
    )
    return round(minutes.value * 60)


def _ready_site(site: CompostSite, facts: DayFacts, rulebook: Rulebook) -> ReadyDestination:
    live = site.live_status
    # A site that says how much room is left has already counted what it got until then.
    counted_until = live.as_of if live.capacity_left_kg is not None else None
    loads = [
        load
        for load in facts.spoken_for
        if counted_until is None or load.done_at is None or load.done_at > counted_until
    ]
    destination = CompostSiteDestination(
        site,
        rulebook=rulebook,
        day=facts.span.day,
        now=facts.now,
        jurisdiction=site.jurisdiction,
        taken_kg=_taken_kg(loads, site.id),
    )
    span = destination.open_span
    return ReadyDestination(
        destination=destination,
        name=site.name,
        tip_s=site.unloading_minutes * 60,
        open_s=max(0, facts.span.second(span.opens_at)) if span else 0,
        close_s=max(0, facts.span.second(span.last_load_at)) if span else 0,
        fee=site.fee,
    )


def _taken_kg(loads: Sequence[Load], destination_id: UUID) -> float:
    return sum(
        load.mass_kg.high * load.taken_share
        for load in loads
        if load.destination_id == destination_id
    )


def _taken_of_bed(loads: Sequence[Load], bed_id: UUID) -> TakenToday:
    own = [load for load in loads if load.destination_id == bed_id]
    return TakenToday(
        mass_kg=sum(load.mass_kg.high * load.taken_share for load in own),
        volume_m3=sum(load.volume_m3.high * load.taken_share for load in own),
        nitrogen_kg=sum(load.nitrogen_kg.high * load.taken_share for load in own),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Every lot's answer from every destination.

    ``position`` finds a destination's answer in a lot's verdicts.
    """

    lots: dict[UUID, Lot]
    destinations: tuple[ReadyDestination, ...]
    verdicts: dict[UUID, tuple[Verdict, ...]]
    by_id: dict[UUID, ReadyDestination]
    position: dict[UUID, int]

    def of(self, job_id: UUID, kinds: frozenset[DestinationKind]) -> list[Verdict]:
        """Return the verdicts on a job's lot by destinations of these kinds."""
        return [verdict for verdict in self.verdicts[job_id] if verdict.destination_kind in kinds]


def ask_all(
    lots: dict[UUID, Lot], destinations: list[ReadyDestination], *, turned_away: TurnedAway
) -> Asked:
    """Return the verdict of every destination on every lot.

    Who turned a load away today is not asked again: a bed gets nothing more on the day, a
    site nothing more of those lots.
    """
    asked = list(lots.values())
    kinds: dict[Clippings, int] = {}

    def kind_of(lot: Lot, property_id: UUID | None) -> int:
        return kinds.setdefault(lot.offered_to(property_id), len(kinds))

    away = [kind_of(lot, None) for lot in asked]
    grown_on: dict[UUID | None, list[int]] = {}
    for number, lot in enumerate(asked):
        grown_on.setdefault(lot.property_id, []).append(number)
    rows: list[list[Verdict]] = [[] for _ in asked]
    for ready in destinations:
        place = ready.destination.property_id
        offered = away.copy()
        for number in grown_on.get(place, ()):
            offered[number] = kind_of(asked[number], place)
        # A day of a thousand lots has some dozen kinds of clippings: each is asked about once.
        clippings = list(kinds)
        told = {kind: ready.destination.verdict(clippings[kind]) for kind in set(offered)}
        for number, kind in enumerate(offered):
            rows[number].append(told[kind])
        if ready.id in turned_away.loads:
            for number, lot in enumerate(asked):
                rows[number][-1] = turned_away.verdict(ready, lot) or rows[number][-1]
    return Asked(
        lots=lots,
        destinations=tuple(destinations),
        verdicts={lot.job_id: tuple(row) for lot, row in zip(asked, rows, strict=True)},
        by_id={ready.id: ready for ready in destinations},
        position={ready.id: number for number, ready in enumerate(destinations)},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnedAway:
    """Loads of the day that were refused on arrival, by destination."""

    loads: dict[UUID, tuple[Load, ...]]

    @classmethod
    def on(cls, facts: DayFacts) -> TurnedAway:
        """Return what was turned away on the day, whole or in part."""
        found: dict[UUID, tuple[Load, ...]] = {}
        for load in facts.spoken_for:
            if load.state in {LoadState.REFUSED, LoadState.PARTLY_REFUSED}:
                found[load.destination_id] = (*found.get(load.destination_id, ()), load)
        return cls(loads=found)

    def verdict(self, ready: ReadyDestination, lot: Lot) -> Verdict | None:
        """Return the refusal of a destination that already said no today, or None."""
        for load in self.loads.get(ready.id, ()):
            same_lot = any(part.job_id == lot.job_id for part in load.parts)
            if same_lot or ready.kind is DestinationKind.BED:
                return refused(
                    ready.kind,
                    ready.id,
                    Reason(
                        code="turned_away_today",
                        sentence=f"A load was turned away here today: {load.refusal_reason}.",
                        rule_class=RuleClass.CLIENT
                        if ready.kind is DestinationKind.BED
                        else RuleClass.SITE,
                        facts={"load_id": str(load.id), "reason": load.refusal_reason},
                    ),
                )
        return None
