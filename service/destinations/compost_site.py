"""Compost sites: open, willing, with room, and told honestly what comes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from uuid import UUID

from service.core.acceptance.hours import OpenSpan, planned_hours
from service.core.materials import LotStatus
from service.core.places import CompostSite, DestinationKind, Point
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.heaps import danger_reason
from service.destinations.kill import NEEDED, kill_doubt
from service.destinations.laid.tipped import broken
from service.destinations.ready import DepotDay, ReadyDestination, taken_kg
from service.destinations.reasons import Reason, refusal
from service.destinations.set_aside import strict_verdict
from service.destinations.sites.far_away import out_of_reach
from service.destinations.sites.gate import Gate
from service.destinations.verdicts import (
    Clippings,
    Limit,
    accepted,
    refused,
    treatment_reason,
    whole_kg,
)
from service.rules.here import RulesHere


class CompostSiteDestination:
    """One compost site on one day, by its hours, its word and what it already gets."""

    kind = DestinationKind.COMPOST_SITE
    property_id = None

    def __init__(
        self,
        site: CompostSite,
        *,
        here: RulesHere,
        now: datetime,
        taken_kg: float = 0.0,
        shift: OpenSpan | None = None,
        yard: Point | None = None,
    ) -> None:
        """Work out once what holds for every lot of the day.

        Parameters
        ----------
        shift
            What is left of the shift of whoever comes; the day's longest span is told without it.
        yard
            Where they come from, if that is known.
        """
        self._site = site
        self._gate = Gate(site=site, day=here.day, now=now)
        self._taken_kg = taken_kg
        age_max = here.row("site_status_age_minutes_max")
        self.status_age_minutes = _age_minutes(site, now)
        self.status_is_fresh = (
            self.status_age_minutes is not None and self.status_age_minutes <= age_max.value
        )
        self.spans = self._gate.spans
        whole = shift or OpenSpan(
            opens_at=min((one.opens_at for one in self.spans), default=now),
            last_load_at=max((one.last_load_at for one in self.spans), default=now),
        )
        self.hours = planned_hours(self.spans, whole.opens_at, whole.last_load_at)
        self._standing_reason = out_of_reach(site.point, yard) or self._first_reason()
        self._doubts = {
            status: kill_doubt(site, kill, here=here) for status, kill in NEEDED.items()
        }

    @property
    def id(self) -> UUID:
        """Return the site's id."""
        return self._site.id

    @property
    def point(self) -> Point:
        """Return where its gate is."""
        return self._site.point

    @property
    def room_kg(self) -> float:
        """Return what the site still takes today: of its capacity, or less by its own word."""
        said_kg = self._site.live_status.capacity_left_kg
        room_kg = self._site.daily_capacity_kg
        if said_kg is not None and self._gate.is_of_the_day:
            room_kg = min(said_kg, room_kg)
        return max(0.0, room_kg - self._taken_kg)

    def verdict(self, lot: Clippings) -> Verdict:
        """Return what this site says to the lot."""
        reason = next(self._lot_reasons(lot), self._standing_reason)
        if reason is not None:
            return refused(self.kind, self.id, reason)
        return accepted(self.kind, self.id, [self._capacity_limit()])

    def insisted(self, lot: Clippings) -> Verdict:
        """Return what stands where a person sets advice aside: all its reasons, and its room."""
        standing = () if self._standing_reason is None else (self._standing_reason,)
        strict = strict_verdict(self.kind, self.id, (*self._lot_reasons(lot), *standing))
        return strict or accepted(self.kind, self.id, [self._capacity_limit()])

    # -- what holds for every lot ---------------------------------------------------------

    def _first_reason(self) -> Reason | None:
        return self._gate.closed_day() or self._gate.says_closed() or self._full()

    def _full(self) -> Reason | None:
        if self.room_kg < 1.0:
            return refusal(
                RuleClass.SITE, "site_full", "The site has no room left today.", room_kg=0
            )
        return None

    def standing(self) -> Iterator[Reason]:
        """Yield all that stands against a load that is tipped now, what is told first first."""
        shut = self._gate.closed_day() or self._gate.closed_hour()
        found = (shut, self._gate.says_closed(), self._full())
        yield from (one for one in found if one is not None)

    # -- what depends on the lot ----------------------------------------------------------

    def _lot_reasons(self, lot: Clippings) -> Iterator[Reason]:
        """Yield what in a lot stands against the site, what is told first first."""
        danger = danger_reason(lot.held)
        if danger is not None:
            yield danger
        if LotStatus.LITTERED in lot.statuses:
            yield refusal(
                RuleClass.SITE,
                "lot_littered",
                "There is litter in the lot; it is sorted in the hold bay first.",
                ground=Ground.LOT,
                status="littered",
            )
        wait = lot.waits.get("compost_site")
        if wait is not None and not wait.over:
            yield treatment_reason(wait)
        if lot.is_sour and self._site.takes_sour is None:
            yield refusal(
                RuleClass.ADVICE,
                "site_sour_not_said",
                "The site has not said whether it takes clippings that have stood until they "
                "are sour: ask it, and record what it says.",
                ground=Ground.PAIR,
                status="sour",
            )
        if lot.is_sour and self._site.takes_sour is False:
            yield refusal(
                RuleClass.SITE,
                "site_refuses_sour",
                "The site takes no clippings that have stood until they are sour.",
                ground=Ground.LOT,
                status="sour",
            )
        for status in sorted(lot.statuses - {LotStatus.SOUR}):
            if status not in self._site.accepted_statuses:
                yield refusal(
                    RuleClass.SITE,
                    "site_refuses_status",
                    f"The site does not take {status.value} clippings.",
                    ground=Ground.LOT,
                    status=status.value,
                    accepted=[word.value for word in self._site.accepted_statuses],
                )
        # Weeds and disease may live through its process, each by itself.
        doubts = (self._doubts.get(status) for status in sorted(lot.statuses))
        yield from (doubt for doubt in doubts if doubt is not None)

    def _pause(self) -> str:
        """Return in words that the gate is shut for a while in between; of none nothing."""
        if self.hours is None or not self.hours.pause:
            return ""
        first, last = (self._gate.clock(at) for at in self.hours.pause)
        return f" (none between {first} and {last})"

    def _last_load(self) -> str:
        """Return the clock time of the last load, as the gate's clock shows it."""
        if self.hours is None:
            return "-"
        return self._gate.clock(self.hours.whole.last_load_at)

    def broken_by(
        self, *, mass_kg: float, volume_m3: float, nitrogen_kg: float
    ) -> tuple[Limit, ...]:
        """Return its room, if a load that was tipped is more; one that is full says so itself."""
        del volume_m3, nitrogen_kg  # a site counts what it is brought by mass
        return () if self._full() is not None else broken([self._capacity_limit()], mass_kg)

    def _capacity_limit(self) -> Limit:
        age = self.status_age_minutes
        told = f"by its word of {age} minutes ago"
        if self._gate.is_supposed:
            told = "as supposed"
        elif age is None or not self._gate.is_of_the_day:
            told = "by its posted hours; nothing was heard from it today"
        return Limit(
            mass_kg=self.room_kg,
            code="site_capacity",
            sentence=(
                f"The site takes {whole_kg(self.room_kg)} kg today, last load {self._last_load()}"
                f"{self._pause()}, {told}."
            ),
            rule_class=RuleClass.SITE,
            facts={
                "room_kg": round(self.room_kg, 1),
                "last_load": self._last_load(),
                "status_age_minutes": age,
                "status_is_fresh": self.status_is_fresh,
            },
        )


def _age_minutes(site: CompostSite, now: datetime) -> int | None:
    as_of = site.live_status.as_of
    if as_of is None:
        return None
    return max(0, int((now - as_of).total_seconds() // 60))


def ready_sites(sites: Sequence[CompostSite], at: DepotDay) -> list[ReadyDestination]:
    """Return compost sites made ready for a depot's day, by its law and their terms of then."""
    return [_ready(site.as_on(at.day), at) for site in at.asked(sites)]


def _ready(site: CompostSite, at: DepotDay) -> ReadyDestination:
    live = site.live_status
    # A site that says how much room is left has already counted what it got until then.
    counted_until = live.as_of if live.capacity_left_kg is not None else None
    loads = [
        load
        for load in at.loads_to(site.id)
        if counted_until is None or load.done_at is None or load.done_at > counted_until
    ]
    destination = CompostSiteDestination(
        site,
        here=RulesHere(at.rulebook, at.day, site.jurisdiction),
        now=at.now,
        taken_kg=taken_kg(loads),
        shift=at.shift_left(),
        yard=at.depot.point,
    )
    return ReadyDestination(
        destination=destination,
        name=site.name,
        tip_s=site.unloading_minutes * 60,
        **at.gate(destination.hours),
        fee=site.fee,
    )
