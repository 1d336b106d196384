"""When a lawn may be mown, by the hours that the firm recorded of it and the depot's clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from service.core.acceptance.hours import OpenSpan, planned_span, spans_on
from service.core.jobs import Job, JobState
from service.core.measures.units import date_words
from service.core.places import Lawn
from service.usecases.base.calendar import DaySpan
from service.usecases.day.facts import DayFacts

CODE: Final = "outside_mowing_hours"
NOT_THAT_DAY: Final = "outside_mowing_hours_that_day"


@dataclass(frozen=True, slots=True, kw_only=True)
class LawnHours:
    """The hours of one lawn on a day; they are what the firm recorded, and told as that."""

    lawn: Lawn
    span: DaySpan

    @property
    def spans(self) -> tuple[OpenSpan, ...]:
        """Return the spans of the day at which mowing may begin, the earliest first."""
        return spans_on(self.span.day, self.lawn.mowing_hours, (), zone=self.span.zone)

    @property
    def between(self) -> tuple[str, ...]:
        """Return the spans in words."""
        return tuple(
            f"{self._clock(one.opens_at)}-{self._clock(one.last_load_at)}" for one in self.spans
        )

    def planned(self, shift: OpenSpan, there_at: datetime) -> OpenSpan | None:
        """Return the span that a plan keeps to; None where no part of the shift lies in any.

        It is the first that is not over when the crew may be there: what it mows and tips before
        sets that, and between two spans it waits.
        """
        ahead = [one for one in self.spans if there_at <= one.last_load_at]
        found = ahead[0] if ahead else planned_span(self.spans, shift.opens_at, shift.last_load_at)
        return None if found is None or not self._overlaps(found, shift) else found

    def outside(self, at: datetime) -> dict[str, object] | None:
        """Return that mowing does not begin at this moment, and when it may; None if it does."""
        if not self.lawn.mowing_hours or any(one.holds(at) for one in self.spans):
            return None
        day, between = date_words(self.span.day), self.between
        when = f"between {', '.join(between)}" if between else f"not on {day}"
        return {
            "code": CODE if between else NOT_THAT_DAY,
            "between": ", ".join(between),
            "day": self.span.day.isoformat(),
            "sentence": (
                f"By the hours recorded of this lawn, mowing begins {when}; this is for "
                f"{self._clock(at)}."
            ),
        }

    def _overlaps(self, one: OpenSpan, shift: OpenSpan) -> bool:
        return one.opens_at < shift.last_load_at and shift.opens_at <= one.last_load_at

    def _clock(self, at: datetime) -> str:
        return f"{at.astimezone(self.span.zone):%H:%M}"


def hours_of(facts: DayFacts, job: Job) -> LawnHours | None:
    """Return the hours of a job's lawn; None where none are on record."""
    lawn = None if job.lawn_id is None else facts.lawns.get(job.lawn_id)
    return LawnHours(lawn=lawn, span=facts.span) if lawn and lawn.mowing_hours else None


def mowing_window_s(facts: DayFacts, job: Job | None, *, there_s: int = 0) -> tuple[int, int]:
    """Return the seconds of the day between which a plan has mowing begin.

    Its crew is there at ``there_s`` at the earliest.

    Where nothing that is left of the shift lies in the hours of the lawn it is any time: the day is
    planned, and says so. Of what is mown already (None: what stands elsewhere, or goes on with a
    lawn that was begun) it is any time too.
    """
    is_ahead, span = job is not None and job.state is JobState.PLANNED, facts.span
    hours = hours_of(facts, job) if job is not None and is_ahead else None
    shift = OpenSpan(
        opens_at=max(facts.now, span.at_clock(facts.depot.shift_starts)),
        last_load_at=span.at_clock(facts.depot.shift_ends),
    )
    there_at = max(shift.opens_at, span.at_second(there_s))
    found = None if hours is None else hours.planned(shift, there_at)
    if found is None:
        return 0, span.second(span.end)
    return span.second(found.opens_at), span.second(found.last_load_at)
