"""What every store answers of days: the stand-in in memory and both databases alike."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

from service.core.jobs import JobState
from service.core.loads import LoadState
from tests.database.books import DAY, NOW


def test_what_a_firm_asks_of_planning_shows_no_other_firm(store):
    mine, theirs = store.books.firm.id, store.others
    with store.open_unit() as unit:
        whole_day = (NOW - timedelta(days=9), NOW + timedelta(days=9))
        assert unit.jobs.of_day(mine, theirs.depots.id, *whole_day) == []
        assert not any(unit.jobs.mowings_since(mine, [theirs.lawns.id], DAY).values())
        assert unit.working_days.of(mine, theirs.depots.id, DAY) is None
        assert unit.day_plans.latest(mine, theirs.depots.id, DAY) is None
        unit.working_days.bump(mine, depot_id=None, from_day=DAY, to_day=None)
        unit.working_days.bump(mine, depot_id=theirs.depots.id, from_day=DAY, to_day=None)
        kept = unit.working_days.of(theirs.firm.id, theirs.depots.id, DAY)
        assert kept == theirs.working_days


def test_a_days_jobs_come_by_time_and_without_the_cancelled(store):
    books = store.books
    start, end = NOW, NOW + timedelta(hours=10)

    def job(**changes):
        return books.another("jobs", **changes)

    first = job(cut_at=None, state=JobState.PLANNED, planned_at=start)
    second = job(cut_at=start + timedelta(hours=1), planned_at=start - timedelta(days=2))
    third = job(cut_at=start + timedelta(hours=1))
    kept = [
        third,
        second,
        first,
        job(cut_at=end),
        job(cut_at=start - timedelta(microseconds=1), planned_at=start),
        job(cut_at=None, state=JobState.PLANNED, planned_at=end),
        job(cut_at=start, state=JobState.CANCELLED),
    ]
    with store.open_unit() as unit:
        unit.jobs.add_many(kept)
        found = unit.jobs.of_day(books.firm.id, books.depots.id, start, end)
        others = [record for record in found if record.id != books.jobs.id]
    assert others == [first, *sorted([second, third], key=lambda record: record.id)]


def test_mowings_are_times_of_mown_jobs_ascending(store):
    books = store.books
    since = datetime(2026, 6, 1, tzinfo=UTC)
    late, early = since + timedelta(days=3), since
    with store.open_unit() as unit:
        unit.jobs.add_many(
            [
                books.another("jobs", cut_at=late),
                books.another("jobs", cut_at=early),
                books.another("jobs", cut_at=since - timedelta(microseconds=1)),
                books.another("jobs", cut_at=late, state=JobState.CANCELLED),
                books.another("jobs", cut_at=late, lawn_id=None),
            ]
        )
        found = unit.jobs.mowings_since(books.firm.id, [books.lawns.id, uuid4()], since.date())
    assert {lawn: times for lawn, times in found.items() if times} == {
        books.lawns.id: [early, late]
    }


def test_the_newest_plan_of_a_day_is_found(store):
    books = store.books
    newer = books.another("day_plans", sequence=11, supersedes_id=books.day_plans.id)
    older = books.another("day_plans", sequence=9)
    next_day = books.another("day_plans", sequence=12, day=DAY + timedelta(days=1))
    with store.open_unit() as unit:
        unit.day_plans.add_many([newer, older, next_day])
        assert unit.day_plans.latest(books.firm.id, books.depots.id, DAY) == newer


def test_a_day_is_kept_once(store):
    books = store.books
    with store.open_unit() as unit:
        kept = books.working_days
        unit.working_days.count_event(books.another("working_days", revision=0))
        unit.working_days.count_event(kept)  # as a second try says it, with the same id
        later = books.another("working_days", day=DAY + timedelta(days=1), revision=0)
        unit.working_days.count_event(later)
        found = unit.working_days.of(books.firm.id, books.depots.id, DAY)
        assert (found.id, found.revision) == (kept.id, kept.revision + 2)
        assert found.plan_id == kept.plan_id
        first = unit.working_days.of(books.firm.id, books.depots.id, later.day)
        assert (first.id, first.revision) == (later.id, 1)
        assert unit.working_days.count(books.firm.id) == 2


def test_an_event_counts_on_the_days_it_touches(store):
    books, firm_id = store.books, store.books.firm.id
    yard = books.another("depots")
    days = [
        books.another("working_days", day=DAY + timedelta(days=1)),
        books.another("working_days", day=DAY + timedelta(days=2)),
        books.another("working_days", depot_id=yard.id),
    ]

    def revisions(unit):
        kept = unit.working_days.get_many(firm_id, [day.id for day in days])
        return [kept[day.id].revision for day in days]

    with store.open_unit() as unit:
        unit.depots.add(yard)
        unit.working_days.add_many(days)
        unit.working_days.bump(
            firm_id,
            depot_id=books.depots.id,
            from_day=DAY + timedelta(days=1),
            to_day=DAY + timedelta(days=1),
        )
        assert revisions(unit) == [4, 3, 3]
        unit.working_days.bump(
            firm_id, depot_id=None, from_day=DAY + timedelta(days=1), to_day=None
        )
        assert revisions(unit) == [5, 4, 3]
        unit.working_days.bump(firm_id, depot_id=None, from_day=DAY, to_day=DAY)
        assert revisions(unit) == [5, 4, 4]


def test_a_plan_covers_a_day_only_while_nothing_happened(store):
    books, firm_id = store.books, store.books.firm.id
    plan = books.another("day_plans", sequence=2)
    with store.open_unit() as unit:
        unit.day_plans.add(plan)
        unit.working_days.bump(firm_id, depot_id=None, from_day=DAY, to_day=None)
        day = unit.working_days.of(firm_id, books.depots.id, DAY)
        assert unit.working_days.mark_planned(day, revision=3, plan_id=plan.id) is False
        assert unit.working_days.mark_planned(day, revision=4, plan_id=plan.id) is True
        marked = unit.working_days.of(firm_id, books.depots.id, DAY)
        assert (marked.revision, marked.planned_revision, marked.plan_id) == (4, 4, plan.id)


def test_the_last_cut_and_the_last_tip_of_a_vehicle_are_found_within_bounds(store):
    books, firm_id = store.books, store.books.firm.id
    since, before = datetime(2026, 6, 1, tzinfo=UTC), datetime(2026, 6, 5, tzinfo=UTC)
    within, later = since + timedelta(days=1), since + timedelta(days=2)
    other = books.another("vehicles", registration="OT43 VAN")
    yard = books.another("depots")
    bounds = {"since": since, "before": before}
    mown = {"state": JobState.MOWN}
    ended = {"state": LoadState.DELIVERED}
    with store.open_unit() as unit:
        unit.depots.add(yard)
        unit.vehicles.add(other)
        unit.jobs.add_many(
            [
                books.another("jobs", cut_at=within, **mown),
                books.another("jobs", cut_at=later, depot_id=yard.id, **mown),
                books.another("jobs", cut_at=before, **mown),
                books.another("jobs", cut_at=before - timedelta(hours=1), state=JobState.CANCELLED),
                books.another("jobs", cut_at=since, vehicle_id=other.id, **mown),
            ]
        )
        unit.loads.add_many(
            [
                books.another("loads", done_at=within, **ended),
                books.another("loads", done_at=later, state=LoadState.PARTLY_REFUSED),
                # What its client sent away may never have set off.
                books.another("loads", done_at=later + timedelta(hours=1), state=LoadState.REFUSED),
                books.another("loads", done_at=before, **ended),
                books.another("loads", done_at=None, state=LoadState.UNDER_WAY),
                books.another("loads", done_at=since, vehicle_id=other.id, **ended),
            ]
        )
        ids = [books.vehicles.id, other.id]
        for found in (unit.jobs.last_cuts, unit.loads.last_tips):
            assert found(firm_id, ids, **bounds) == {books.vehicles.id: later}, found
            assert found(firm_id, [other.id], **bounds) == {}, found
            assert found(store.others.firm.id, ids, **bounds) == {}, found


def test_outages_are_found_of_the_days_before_and_by_when_they_end(store):
    books, firm_id = store.books, store.books.firm.id
    day, long_ago = DAY, DAY - timedelta(days=200)
    out_since = datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC) - timedelta(days=20)

    def outage(day, back_at=None):
        return books.another("vehicle_outages", day=day, out_since=out_since, back_at=back_at)

    found = [outage(day), outage(long_ago), outage(long_ago, NOW + timedelta(minutes=1))]
    others = [outage(long_ago, NOW), outage(day + timedelta(days=1))]
    with store.open_unit() as unit:
        for firm in (books, store.others):
            unit.vehicle_outages.remove(firm.firm.id, firm.vehicle_outages.id)
        unit.vehicle_outages.add_many([*found, *others])
        bounds = {"back_after": NOW}
        up_to = unit.vehicle_outages.up_to(firm_id, day, **bounds)
        assert [one.id for one in up_to] == sorted(one.id for one in found)
        assert unit.vehicle_outages.up_to(store.others.firm.id, day, **bounds) == []
