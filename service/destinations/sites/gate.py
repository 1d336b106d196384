"""The gate of a compost site on one day: its posted hours, and what it said of itself since."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from service.core.acceptance.hours import OpenSpan, spans_on
from service.core.acceptance.live_status import SiteState, SupposedStatus
from service.core.measures.units import date_words
from service.core.places import CompostSite
from service.core.plans import RuleClass
from service.destinations.reasons import Reason, refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """When a site lets anybody in on a day, as it is known at a moment of it."""

    site: CompostSite
    day: date
    now: datetime

    @property
    def is_supposed(self) -> bool:
        """Return whether its word is what somebody supposes."""
        return isinstance(self.site.live_status, SupposedStatus)

    @property
    def is_of_the_day(self) -> bool:
        """Return whether the site has said anything on the day."""
        as_of = self.site.live_status.as_of
        return as_of is not None and as_of.astimezone(self._zone).date() == self.day

    @property
    def posted(self) -> tuple[OpenSpan, ...]:
        """Return the hours of its board."""
        return spans_on(self.day, self.site.hours, self.site.closed_on, zone=self._zone)

    @property
    def spans(self) -> tuple[OpenSpan, ...]:
        """Return when loads come in on the day, by its word as well."""
        early = self.site.live_status.closes_early_at
        if early is None or early.astimezone(self._zone).date() != self.day:
            return self.posted
        # What opens later than that opens no more; the first span is told as it ended.
        return tuple(
            replace(span, last_load_at=min(span.last_load_at, early))
            for number, span in enumerate(self.posted)
            if number == 0 or span.opens_at < early
        )

    def clock(self, at: datetime) -> str:
        """Return a time as the gate's clock shows it."""
        local = at.astimezone(self._zone)
        # A night goes on after the day that is planned: 00:00 would be its beginning.
        return local.strftime("%H:%M") if local.date() <= self.day else "24:00"

    def closed_day(self) -> Reason | None:
        """Return that it takes nothing on the day, if so."""
        if self.spans:
            return None
        return refusal(
            RuleClass.SITE,
            "site_closed_day",
            f"The site takes no loads on {date_words(self.day)}.",
            day=self.day.isoformat(),
        )

    def closed_hour(self) -> Reason | None:
        """Return that nobody was let in who has tipped by now: unloading takes its minutes."""
        came = self.now - timedelta(minutes=self.site.unloading_minutes)
        if any(one.opens_at <= self.now and came <= one.last_load_at for one in self.posted):
            return None
        between = [
            f"{self.clock(span.opens_at)}-{self.clock(span.last_load_at)}" for span in self.posted
        ]
        return refusal(
            RuleClass.SITE,
            "site_closed_hour",
            f"On {date_words(self.day)} the site takes loads only at these hours: "
            f"{', '.join(between)}; it is {self.clock(self.now)}.",
            day=self.day.isoformat(),
            between=between,
            at_clock=self.clock(self.now),
        )

    def says_closed(self) -> Reason | None:
        """Return that it said so itself, or has shut early by its own word.

        "Closed" stands for the rest of the day, however old: a gate that shut early reopens by its
        own word, not by ours.
        """
        live = self.site.live_status
        has_shut = live.closes_early_at is not None and live.closes_early_at <= self.now
        if not self.is_of_the_day or not (live.state is SiteState.CLOSED or has_shut):
            return None
        return refusal(
            RuleClass.SITE,
            "site_says_closed",
            "The site is closed on this day (supposed)."
            if self.is_supposed
            else "The site said today that it is closed.",
            as_of=live.as_of.isoformat() if live.as_of else None,
        )

    @property
    def _zone(self) -> ZoneInfo:
        return ZoneInfo(self.site.time_zone)
