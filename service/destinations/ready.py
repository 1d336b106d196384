"""Destinations made ready for a depot's day: what they may know of it, their hours and fees."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any, TypeVar
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.acceptance.fees import Fee, FeeBasis
from service.core.acceptance.hours import OpenSpan, PlannedHours
from service.core.jobs import Job
from service.core.loads import HoldEntry, Load
from service.core.measures.estimates import Estimate
from service.core.places import Depot, DestinationKind, Point
from service.core.records import Record
from service.destinations.laid.fairness import BedFairness
from service.destinations.laid.ledger import BedLedger
from service.destinations.reasons import Reason
from service.destinations.verdicts import Caution, Destination
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook

KILOGRAMS_PER_TONNE = 1000.0

Place = TypeVar("Place", bound=Record)


@dataclass(frozen=True, slots=True, kw_only=True)
class DepotDay:
    """A depot's day, as far as its destinations may know of it.

    Attributes
    ----------
    second
        Moment -> second of the working day, negative before its midnight.
    end_s
        The last second of the working day.
    points
        Where each destination is, by its id.
    loads
        Those that take room today: under way or done, and what other depots plan.
    own_loads
        Of them, the depot's own.
    lying
        What lies in the depot's hold bays.
    jobs
        Those of the loads that are known, by id.
    ledgers
        What each bed got in the year before, by its id.
    only
        The one place that is asked about; None: all of them.
    """

    depot: Depot
    day: date
    now: datetime
    second: Callable[[datetime], int]
    end_s: int
    rulebook: Rulebook
    points: Mapping[UUID, Point]
    loads: tuple[Load, ...]
    own_loads: tuple[Load, ...]
    lying: tuple[HoldEntry, ...]
    jobs: Mapping[UUID, Job]
    ledgers: Mapping[UUID, BedLedger]
    only: UUID | None = None
    _loads_to: dict[UUID, list[Load]] = field(default_factory=dict, init=False, compare=False)

    def asked(self, places: Sequence[Place]) -> list[Place]:
        """Return those of the places that are asked about."""
        return [one for one in places if self.only in {None, one.id}]

    def hours_since(self, moment: datetime | None) -> float | None:
        """Return how old a word of then is now, or when a later day begins [h]; None of none."""
        if moment is None:
            return None
        return max(0.0, (max(self.second(self.now), 0) - self.second(moment)) / 3600.0)

    def gate(self, hours: PlannedHours | None) -> dict[str, Any]:
        """Return the hours of a place as seconds of the day; of none it is shut all day."""
        if hours is None:
            return {"open_s": 0, "close_s": 0}
        opens_s, closes_s, *pause = (
            min(self.end_s, max(0, self.second(at)))
            for at in (hours.whole.opens_at, hours.whole.last_load_at, *hours.pause)
        )
        return {"open_s": opens_s, "close_s": closes_s, "pause_s": tuple(pause)}

    def shift_left(self) -> OpenSpan:
        """Return what is left of the depot's shift, from now on or when a later day's begins."""
        zone = ZoneInfo(self.depot.time_zone)
        starts, ends = (
            datetime.combine(self.day, clock, tzinfo=zone)
            for clock in (self.depot.shift_starts, self.depot.shift_ends)
        )
        return OpenSpan(opens_at=max(starts, self.now), last_load_at=ends)

    def moment(self) -> datetime:
        """Return now, or when the day begins if it is still to come."""
        apart_s = max(0, -self.second(self.now))
        return self.now + timedelta(seconds=apart_s)

    @property
    def here(self) -> RulesHere:
        """Return the rules of the day at the depot."""
        return RulesHere(self.rulebook, self.day, self.depot.jurisdiction)

    def tipping_s(self, destination: str) -> int:
        """Return how long a tip takes, by the rule for this word."""
        return round(self.here.value("tipping_minutes", destination=destination) * 60)

    def loads_to(self, destination_id: UUID) -> list[Load]:
        """Return the loads that take room of one destination today."""
        if not self._loads_to:
            for load in self.loads:
                self._loads_to.setdefault(load.destination_id, []).append(load)
        return self._loads_to.get(destination_id, [])


def _never_shut(_: datetime) -> None:
    """Return that nothing is known against a moment."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyDestination:
    """A destination with what the planner and the reader need beside its verdicts.

    ``fairness`` is what a bed had lately if the depot minds, ``cautions`` is what the crew must
    know there, ``least_kg`` is the least at a time, at the likely mass. ``open_s`` and ``close_s``
    are seconds of the working day, and after the first and before the second of ``pause_s`` nothing
    is tipped. What loads under way or done today take of its room is in its
    verdicts. ``shut_at`` says why its client wants nobody there at a moment; a gate that took a
    load was open.
    """

    destination: Destination
    name: str
    tip_s: int
    open_s: int
    close_s: int
    fee: Fee | None = None
    fairness: BedFairness | None = None
    least_kg: float = 0.0
    cautions: tuple[Caution, ...] = ()
    shut_at: Callable[[datetime], Reason | None] = _never_shut
    pause_s: tuple[int, int] | tuple[()] = ()

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

    def begins_s(self, clock_s: int) -> int:
        """Return when a load that is there at a second is tipped: who comes sooner waits."""
        opens_s = max(clock_s, self.open_s)
        if self.pause_s and self.pause_s[0] < opens_s < self.pause_s[1]:
            return self.pause_s[1]
        return opens_s

    def is_open(self, clock_s: int) -> bool:
        """Return whether a load may be tipped at a second."""
        return self.begins_s(clock_s) == clock_s <= self.close_s

    def too_little(self, mass_kg: Estimate) -> str | None:
        """Return in words why a load is too little to come with; None if it is enough."""
        if mass_kg.likely >= self.least_kg:
            return None
        return (
            f"The client takes no visit for less than {self.least_kg:g} kg; "
            f"this is likely {mass_kg.likely:.0f} kg."
        )

    def fee_cents(self, *, mass_kg: float, volume_m3: float) -> int:
        """Return what one load of this much costs there, minimum included."""
        return charged_cents(self.fee, mass_kg=mass_kg, volume_m3=volume_m3)


def charged_cents(fee: Fee | None, *, mass_kg: float, volume_m3: float) -> int:
    """Return what one load of this much costs where there is a fee, minimum included."""
    if fee is None:
        return 0
    amount = {
        FeeBasis.PER_TONNE: fee.amount_cents * mass_kg / KILOGRAMS_PER_TONNE,
        FeeBasis.PER_M3: fee.amount_cents * volume_m3,
        FeeBasis.PER_LOAD: float(fee.amount_cents),
    }[fee.basis]
    return max(round(amount), fee.minimum_cents)


def taken_kg(loads: list[Load]) -> float:
    """Return what loads take of a destination's room, at the high end [kg]."""
    return sum(load.mass_kg.high * load.taken_share for load in loads)
