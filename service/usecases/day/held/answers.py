"""Who takes what lies in a bay, by the same verdicts that every lot of the day gets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from uuid import UUID

from service.core.loads import Load
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.core.plans import Verdict
from service.destinations.laid.ledger import BedLedger, LaidLayer, TakenToday
from service.destinations.ready import ReadyDestination
from service.destinations.verdicts import Lot
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import span_of
from service.usecases.base.destination_kinds import COLLECTABLE
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.day.bodies.composition import cargo_of
from service.usecases.day.destinations import Asked, TurnedAway, ask_all, ready_destinations
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import with_freezes
from service.usecases.day.held.entries import why_held

# So far ahead it is told from when on somebody takes it; it has soured long before.
DAYS_AHEAD = 7
TOO_LITTLE = "consent_mass_least"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldAnswer:
    """What beds and sites say to one entry of the hold queue.

    Attributes
    ----------
    status
        The worst of its lots, by the records of now.
    is_hot
        People keep away from it: nobody is sent there, whoever takes it.
    said
        Every bed's and site's word on its worst lot: all of it lies on one heap. Who would take
        it, but no visit for so little, says nothing.
    """

    grass: HeldGrass
    is_hot: bool
    status: LotStatus
    said: tuple[tuple[ReadyDestination, Verdict], ...]
    why: tuple[str, str]

    @property
    def takers(self) -> tuple[tuple[ReadyDestination, Verdict], ...]:
        """Return who takes any of it, the most first, beds before sites."""
        willing = (pair for pair in self.said if not pair[1].refused)
        return tuple(
            sorted(
                willing,
                key=lambda pair: (
                    pair[0].kind is not DestinationKind.BED,
                    -pair[1].accepted_kg,
                    str(pair[0].id),
                ),
            )
        )

    @property
    def releasable(self) -> bool:
        """Return whether what it waited for has come: somebody takes it, and it may be loaded."""
        return bool(self.takers) and not self.is_hot


def answer_on(grass: HeldGrass, asked: Asked, *, heat: tuple[str, str] | None = None) -> HeldAnswer:
    """Return what beds and sites say to an entry; why it is left for its heat goes before that."""
    lots = [asked.lots[lot_id] for lot_id in grass.lot_ids]
    cargo = cargo_of(list(zip(grass.lot_ids, grass.shares, strict=True)), asked.lots)
    worst = next(lot for lot in lots if lot.counts_as is cargo.status)
    said = tuple(
        (ready, verdict)
        for ready, verdict in zip(asked.destinations, asked.of_mixture(grass.lot_ids), strict=True)
        if ready.kind in COLLECTABLE
    )
    scant = {
        ready.id: too_little
        for ready, verdict in said
        if not verdict.refused and (too_little := ready.too_little(cargo.mass_kg)) is not None
    }
    willing = [ready for ready, verdict in said if not verdict.refused and ready.id not in scant]
    why = why_held(worst.id, asked)
    if scant and not willing:
        why = TOO_LITTLE, next(iter(scant.values()))
    return HeldAnswer(
        grass=grass,
        is_hot=heat is not None,
        status=cargo.status,
        said=tuple((ready, verdict) for ready, verdict in said if ready.id not in scant),
        why=heat or why,
    )


def first_days_taken(
    entries: Sequence[HeldGrass], facts: DayFacts, lots: Mapping[UUID, Lot], *, rulebook: Rulebook
) -> dict[UUID, tuple[date, str]]:
    """Return, by entry, the first day after today on which somebody takes it, and who.

    By the records of now: hours, rests, consents. What is planned until then is not known.
    """
    found: dict[UUID, tuple[date, str]] = {}
    for apart in range(1, DAYS_AHEAD + 1):
        waiting = [grass for grass in entries if grass.entry.id not in found]
        if not waiting:
            break
        later = _on(facts, facts.span.day + timedelta(days=apart))
        asked = ask_all(
            {lot_id: lots[lot_id] for grass in waiting for lot_id in grass.lot_ids},
            ready_destinations(later, rulebook=rulebook),
            turned_away=TurnedAway.on(later),
        )
        asked = with_freezes(asked, facts.recalls)
        for grass in waiting:
            takers = answer_on(grass, asked).takers
            if takers:
                found[grass.entry.id] = later.span.day, takers[0][0].name
    return found


def _on(facts: DayFacts, day: date) -> DayFacts:
    """Return a later day as the records of now have it: what was laid today is laid by then."""
    today: dict[UUID, list[Load]] = {}
    for load in (*facts.spoken_for, *facts.planned_loads):
        if load.destination_kind is DestinationKind.BED and load.taken_share > 0.0:
            today.setdefault(load.destination_id, []).append(load)
    return replace(
        facts,
        span=span_of(facts.depot, day),
        loads=(),
        elsewhere=(),
        turned_away_before=(
            *facts.turned_away_before,
            *(load for load in facts.spoken_for if load.taken_share < 1.0),
        ),
        ledgers={
            bed_id: BedLedger(
                layers=(
                    *ledger.layers,
                    *(
                        LaidLayer(
                            day=facts.span.day,
                            mass_kg=taken.mass_kg,
                            nitrogen_kg=taken.nitrogen_kg,
                        )
                        for load in today.get(bed_id, ())
                        for taken in [TakenToday.by([load], facts.known_jobs)]
                    ),
                )
            )
            for bed_id, ledger in facts.ledgers.items()
        },
    )
