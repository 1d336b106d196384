"""A client's hours at a bed: when somebody may come with clippings, by the clock of who comes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from service.core.acceptance.hours import OpenSpan, PlannedHours, planned_hours, spans_on
from service.core.measures.units import date_words
from service.core.places import Bed, Depot
from service.core.plans import RuleClass
from service.destinations.reasons import Reason, refusal
from service.destinations.verdicts import Caution


@dataclass(frozen=True, slots=True, kw_only=True)
class BedHours:
    """When a bed may be come to on a day; without hours on record it is the whole day."""

    bed: Bed
    day: date
    zone: ZoneInfo

    @property
    def spans(self) -> tuple[OpenSpan, ...]:
        """Return the spans of the day, the earliest first."""
        if self.bed.hours:
            return spans_on(self.day, self.bed.hours, self.bed.closed_on, zone=self.zone)
        starts, ends = (
            datetime.combine(one, time(0), tzinfo=self.zone)
            for one in (self.day, self.day + timedelta(days=1))
        )
        whole = OpenSpan(opens_at=starts, last_load_at=ends)
        return () if self.day in self.bed.closed_on else (whole,)

    def shut_at(self, at: datetime) -> Reason | None:
        """Return why nobody may come at a moment; None if somebody may.

        A crew that tips after midnight comes on the next day, and that day's hours count.
        """
        day = at.astimezone(self.zone).date()
        if day != self.day:
            return replace(self, day=day).shut_at(at)
        return None if any(span.holds(at) for span in self.spans) else self._shut(at)

    def shut_from(self, at: datetime) -> Reason | None:
        """Return why nobody may come on the day any more; None while somebody may."""
        return None if any(at <= span.last_load_at for span in self.spans) else self._shut(at)

    def told(self) -> Iterator[Caution]:
        """Yield the word to whoever comes, where the client has hours."""
        if self.bed.hours and self.spans:
            yield Caution(code="only_between", gaps=(("between", ", ".join(self._between())),))

    def planned(self, shift: OpenSpan) -> PlannedHours | None:
        """Return the hours that a plan uses."""
        return planned_hours(self.spans, shift.opens_at, shift.last_load_at)

    def _between(self) -> list[str]:
        return [
            f"{self._clock(span.opens_at)}-{self._clock(span.last_load_at)}" for span in self.spans
        ]

    def _clock(self, at: datetime) -> str:
        return f"{at.astimezone(self.zone):%H:%M}"

    def _shut(self, at: datetime) -> Reason:
        if not self.spans:
            return refusal(
                RuleClass.CLIENT,
                "bed_closed_day",
                f"The client wants nothing on this bed on {date_words(self.day)}.",
                day=self.day.isoformat(),
            )
        between, clock = self._between(), self._clock(at)
        return refusal(
            RuleClass.CLIENT,
            "bed_closed_hour",
            f"On {date_words(self.day)} the client wants deliveries on this bed only at these "
            f"hours: {', '.join(between)}; it is {clock}.",
            day=self.day.isoformat(),
            between=between,
            at_clock=clock,
        )


def hours_on(bed: Bed, day: date, depot: Depot) -> BedHours:
    """Return the hours of a bed on a depot's day."""
    return BedHours(bed=bed, day=day, zone=ZoneInfo(depot.time_zone))
