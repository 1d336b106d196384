"""When a place takes loads on a day: two spans a weekday, spans over midnight, closed days."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from service.core.acceptance.hours import (
    OpeningHours,
    OpenSpan,
    hours_faults,
    planned_hours,
    planned_span,
    spans_on,
)

LONDON = ZoneInfo("Europe/London")
SUNDAY = date(2026, 5, 24)


def hours(weekday, opens, closes, last_load=None):
    return OpeningHours(
        weekday=weekday,
        opens=time.fromisoformat(opens),
        closes=time.fromisoformat(closes),
        last_load=time.fromisoformat(last_load or closes),
    )


def told(found):
    return [
        tuple(f"{at.astimezone(LONDON):%d %H:%M}" for at in (span.opens_at, span.last_load_at))
        for span in found
    ]


def on(day, *of_week, closed_on=()):
    return told(spans_on(day, of_week, closed_on, zone=LONDON))


def test_a_day_may_have_two_spans_told_in_their_order():
    two = (hours(6, "14:00", "17:00", "16:30"), hours(6, "08:00", "12:00"))
    assert on(SUNDAY, *two) == [("24 08:00", "24 12:00"), ("24 14:00", "24 16:30")]
    assert on(date(2026, 5, 25), *two) == []


def test_a_span_over_midnight_is_of_the_evening_and_of_the_morning_after():
    night = hours(5, "22:00", "06:00", "05:00")
    assert on(date(2026, 5, 23), night) == [("23 22:00", "24 00:00")]
    assert on(SUNDAY, night) == [("24 00:00", "24 05:00")]


def test_a_closed_day_has_no_span_and_no_night_of_its_own():
    every_night = tuple(hours(weekday, "22:00", "06:00") for weekday in range(7))
    closed = {"closed_on": (SUNDAY,)}
    assert on(SUNDAY, *every_night, **closed) == []
    assert on(date(2026, 5, 25), *every_night, **closed) == [("25 22:00", "26 00:00")]


def test_the_clock_is_the_places_own_on_a_day_that_changes_it():
    found = spans_on(date(2026, 3, 29), (hours(6, "00:30", "08:00"),), (), zone=LONDON)
    assert found == (
        OpenSpan(
            opens_at=datetime(2026, 3, 29, 0, 30, tzinfo=UTC),
            last_load_at=datetime(2026, 3, 29, 7, 0, tzinfo=UTC),
        ),
    )


@pytest.mark.parametrize(
    ("opens", "last_load", "closes"),
    [
        ("08:00", "08:00", "12:00"),
        ("08:00", "12:30", "12:00"),
        ("08:00", "08:00", "08:00"),
        ("22:00", "07:00", "06:00"),
    ],
)
def test_a_last_load_lies_after_opening_and_not_after_closing(opens, last_load, closes):
    (fault,) = hours_faults((hours(0, "08:00", "12:00"), hours(0, opens, closes, last_load)))
    assert fault.pointer == "/hours/1"


def test_of_several_spans_a_plan_takes_the_first_that_leaves_time_to_come():
    def at(clock):
        return datetime.combine(SUNDAY, time.fromisoformat(clock), tzinfo=LONDON)

    def taken(starts, ends):
        found = planned_span(spans, at(starts), at(ends))
        return None if found is None else told([found])[0][0]

    spans = spans_on(
        SUNDAY, (hours(6, "08:00", "12:00"), hours(6, "14:00", "20:00")), (), zone=LONDON
    )
    assert taken("07:00", "17:30") == "24 08:00"
    # Open now, with less left than the next has: nobody is to stand before an open gate.
    assert taken("09:30", "17:30") == "24 08:00"
    assert taken("11:30", "17:30") == "24 08:00"
    assert taken("11:31", "17:30") == "24 14:00"
    # Nothing is left of the shift: what is left of the day.
    assert taken("18:00", "17:30") == "24 14:00"
    assert planned_span((), at("07:00"), at("17:30")) is None


@pytest.mark.parametrize(
    ("now", "from_to", "pause"),
    [
        ("07:00", ("08:00", "20:00"), ["12:00", "14:00"]),
        ("11:29", ("08:00", "20:00"), ["12:00", "14:00"]),
        # Half an hour is needed to come, see ``TIME_TO_COME``.
        ("11:31", ("14:00", "20:00"), []),
        ("13:00", ("14:00", "20:00"), []),
    ],
)
def test_a_plan_knows_both_spans_of_a_day_and_that_nobody_takes_anything_between_them(
    now, from_to, pause
):
    spans = spans_on(
        SUNDAY, (hours(6, "08:00", "12:00"), hours(6, "14:00", "20:00")), (), zone=LONDON
    )
    starts, ends = (
        datetime.combine(SUNDAY, time.fromisoformat(clock), tzinfo=LONDON)
        for clock in (now, "17:30")
    )
    found = planned_hours(spans, starts, ends)
    clocks = [
        f"{at.astimezone(LONDON):%H:%M}" for at in (found.whole.opens_at, found.whole.last_load_at)
    ]
    assert tuple(clocks) == from_to
    assert [f"{at.astimezone(LONDON):%H:%M}" for at in found.pause] == pause


def test_spans_that_meet_have_no_pause():
    spans = spans_on(
        SUNDAY, (hours(6, "08:00", "12:00"), hours(6, "12:00", "20:00")), (), zone=LONDON
    )
    found = planned_hours(spans, spans[0].opens_at, spans[1].last_load_at)
    assert not found.pause
    assert found.whole == OpenSpan(opens_at=spans[0].opens_at, last_load_at=spans[1].last_load_at)
