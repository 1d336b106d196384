from datetime import UTC, datetime, timedelta, timezone

from service.demo.clock import ClockIdentifiers, DemoClock, same_tails

ELEVEN = datetime(2026, 5, 20, 11, tzinfo=timezone(timedelta(hours=1)))


def ten_ids(clock: DemoClock):
    identifiers = ClockIdentifiers(clock, make_tail=same_tails("story"))
    return [identifiers.next_id() for _ in range(10)]


def test_the_clock_stands_where_it_was_put_and_tells_utc():
    clock = DemoClock(ELEVEN)
    assert clock.now() == clock.now() == ELEVEN
    assert clock.now().tzinfo is UTC


def test_a_clock_that_runs_goes_forward_from_where_it_stood():
    clock = DemoClock(ELEVEN)
    clock.run()
    first = clock.now()
    assert ELEVEN <= first <= clock.now() < ELEVEN + timedelta(minutes=1)


def test_a_clock_that_is_moved_stands_again():
    clock = DemoClock(ELEVEN)
    clock.run()
    clock.move_to(ELEVEN + timedelta(hours=1))
    assert clock.now() == ELEVEN + timedelta(hours=1)


def test_ids_are_version_7_of_the_demos_time():
    # RFC 9562, 5.7: 48 bits of milliseconds since 1970, version 7, variant 10.
    (first, *_) = ten_ids(DemoClock(ELEVEN))
    assert (first.version, first.variant) == (7, "specified in RFC 4122")
    assert first.int >> 80 == int(ELEVEN.timestamp() * 1000)


def test_ids_of_one_moment_differ_and_keep_their_order():
    ids = ten_ids(DemoClock(ELEVEN))
    assert sorted(set(ids)) == ids


def test_the_same_story_gets_the_same_ids():
    assert ten_ids(DemoClock(ELEVEN)) == ten_ids(DemoClock(ELEVEN))
