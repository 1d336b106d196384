"""What every store answers to the use cases: the stand-in in memory and both databases alike."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from service.core.errors import RecordExists, RecordMissing, VersionOvertaken
from service.core.jobs import JobState
from service.core.mass_book import MassMovement, MovementCause
from service.core.materials import LotStatus
from service.usecases.base.ports import SAID
from tests.database.books import DAY, NOW, ORDER
from tests.database.test_kept_answers import kept_answer


def test_another_firms_record_looks_like_a_missing_one(store):
    mine = store.books.firm.id
    with store.open_unit() as unit:
        for name, theirs in store.others.all().items():
            repository = unit.repository(name)
            assert repository.get(mine, theirs.id) is None
            assert repository.get_many(mine, [theirs.id]) == {}
            assert repository.all(mine, id=theirs.id) == []
            assert repository.count(mine, id=theirs.id) == 0
            (listed,) = repository.page(mine, filters={}, after=None, limit=9).records
            assert listed.id == getattr(store.books, name).id
            with pytest.raises(RecordMissing):
                repository.replace(replace(theirs, firm_id=mine), expected_version=1)
            assert repository.get(store.others.firm.id, theirs.id) == theirs


def test_another_firms_record_cannot_be_removed(store):
    with store.open_unit() as unit:
        for name in set(ORDER) - {"delivery_notes"}:  # nobody's note can be
            with pytest.raises(RecordMissing):
                unit.repository(name).remove(store.books.firm.id, getattr(store.others, name).id)


def test_two_firms_may_use_the_same_id(store):
    mine = store.others.another("clients", name="Theirs")
    with store.open_unit() as unit:
        unit.clients.add(replace(mine, firm_id=store.books.firm.id, name="Ours"))
        unit.clients.add(mine)
        assert unit.clients.get(store.others.firm.id, mine.id).name == "Theirs"
        assert unit.clients.get(store.books.firm.id, mine.id).name == "Ours"


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


def test_a_firms_keys_and_answers_are_its_own(store):
    mine, theirs = store.books, store.others
    answer = kept_answer(theirs)
    with store.open_unit() as unit:
        assert unit.api_keys.all(mine.firm.id) == [mine.key]
        assert unit.api_keys.revoke(mine.firm.id, theirs.key.id, NOW) is False
        assert unit.api_keys.find(theirs.key.secret_sha256) == theirs.key
        unit.amendments.add(theirs.amendment())
        assert unit.amendments.of(mine.firm.id, theirs.lawns.id) == []
        assert unit.answers.begin(answer)
        assert unit.answers.get(mine.firm.id, answer.key) is None
        assert unit.answers.begin(replace(answer, firm_id=mine.firm.id))


def test_what_is_not_committed_is_gone(store):
    lawn = store.books.another("lawns")
    with store.open_unit() as unit:
        unit.lawns.add(lawn)
    with store.open_unit() as unit:
        assert unit.lawns.get(lawn.firm_id, lawn.id) is None


def test_an_error_undoes_what_was_done(store):
    lawn = store.books.another("lawns")

    def fail_halfway():
        with store.open_unit() as unit:
            unit.lawns.add(lawn)
            raise RecordMissing(record="lawn", id=lawn.id)

    with pytest.raises(RecordMissing):
        fail_halfway()
    with store.open_unit() as unit:
        assert unit.lawns.get(lawn.firm_id, lawn.id) is None


def test_an_id_that_is_taken_is_refused_and_the_unit_can_go_on(store):
    lawn = store.books.lawns
    with store.open_unit() as unit:
        with pytest.raises(RecordExists, match=str(lawn.id)):
            unit.lawns.add(replace(lawn, name="Other"))
        with pytest.raises(RecordExists, match=str(lawn.id)):
            unit.lawns.add_many([store.books.another("lawns"), replace(lawn, name="Other")])
        assert unit.lawns.get(lawn.firm_id, lawn.id) == lawn


def test_a_new_version_is_written_only_over_the_one_that_was_read(store):
    lawn = store.books.lawns
    newer = replace(lawn, name="Front lawn", version=2, updated_at=NOW + timedelta(minutes=1))
    with store.open_unit() as unit:
        unit.lawns.replace(newer, expected_version=1)
        with pytest.raises(VersionOvertaken) as overtaken:
            unit.lawns.replace(replace(newer, name="Mine"), expected_version=1)
        assert overtaken.value.facts["current"] == 2
        assert unit.lawns.get(lawn.firm_id, lawn.id) == newer


def test_many_new_versions_are_written_only_over_those_before_them(store):
    first, second = store.books.lawns, store.books.another("lawns")
    newer = [replace(lawn, name="Mown", version=2) for lawn in (first, second)]
    with store.open_unit() as unit:
        unit.lawns.add(second)
        unit.lawns.replace_many(newer)
        assert unit.lawns.get_many(first.firm_id, [first.id, second.id]) == {
            lawn.id: lawn for lawn in newer
        }
        unit.lawns.replace_many([])
        with pytest.raises(VersionOvertaken) as overtaken:
            unit.lawns.replace_many([replace(newer[1], version=3), replace(newer[0], version=4)])
        assert overtaken.value.facts == {"record": "lawn", "current": 2, "expected": 3}


def test_of_many_new_versions_a_missing_record_is_named(store):
    gone = store.books.another("lawns", version=2)
    with store.open_unit() as unit, pytest.raises(RecordMissing, match=str(gone.id)):
        unit.lawns.replace_many([replace(store.books.lawns, version=2), gone])


def test_pages_show_every_record_once_in_the_order_of_ids(store):
    lawns = [store.books.another("lawns", name=str(number)) for number in range(7)]
    with store.open_unit() as unit:
        unit.lawns.add_many(lawns[::-1])
        expected = unit.lawns.all(store.books.firm.id)
        shown, after, sizes = [], None, []
        while True:
            page = unit.lawns.page(store.books.firm.id, filters={}, after=after, limit=4)
            shown += page.records
            sizes.append(len(page.records))
            after = page.next_after
            if after is None:
                break
    assert shown == expected == sorted([store.books.lawns, *lawns], key=lambda lawn: lawn.id)
    assert sizes == [4, 4]


def test_a_tuple_in_a_filter_means_any_of_its_values(store):
    firm_id = store.books.firm.id
    ahead = store.books.another("jobs", state=JobState.PLANNED, cut_at=None)
    off = store.books.another("jobs", state=JobState.CANCELLED)
    with store.open_unit() as unit:
        unit.jobs.add_many([ahead, off])
        states = (JobState.PLANNED, JobState.CANCELLED)
        assert unit.jobs.all(firm_id, state=states) == [ahead, off]
        assert unit.jobs.count(firm_id, state=states) == 2
        assert unit.jobs.all(firm_id, state=()) == []
        page = unit.jobs.page(
            firm_id, filters={"state": states, "lawn_id": ahead.lawn_id}, after=ahead.id, limit=5
        )
        assert page.records == (off,)
        assert page.next_after is None


def test_none_in_a_filter_finds_what_is_not_given(store):
    firm_id = store.books.firm.id
    whole = store.books.another("jobs", lawn_id=None)
    with store.open_unit() as unit:
        unit.jobs.add(whole)
        assert unit.jobs.all(firm_id, lawn_id=None) == [whole]


def test_a_filter_finds_what_is_said_whatever_it_is(store):
    firm_id = store.books.firm.id
    elsewhere = store.books.another("loads", at_gate_at=None)
    with store.open_unit() as unit:
        unit.loads.add(elsewhere)
        assert unit.loads.all(firm_id, at_gate_at=SAID) == [store.books.loads]


def test_many_are_got_by_id_and_missing_ones_are_left_out(store):
    lawn = store.books.lawns
    with store.open_unit() as unit:
        assert unit.lawns.get_many(lawn.firm_id, [lawn.id, uuid4()]) == {lawn.id: lawn}
        assert unit.lawns.get_many(lawn.firm_id, []) == {}
        unit.lawns.add_many([])


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


def entry(books, mass_high_kg, *, day=DAY, to=None, cause=None, lot=None, **changes):
    """Return an entry of the mass book: so much of a lot, tipped on a bed."""
    return MassMovement(
        **books.base(),
        cause=MovementCause.TIPPED,
        cause_id=cause or uuid4(),
        lot_id=lot or books.jobs.id,
        lot_code="L-1",
        from_kind="vehicle",
        from_id=books.vehicles.id,
        to_kind="bed",
        to_id=to or books.beds.id,
        share=0.5,
        mass_low_kg=mass_high_kg / 4,
        mass_likely_kg=mass_high_kg / 2,
        mass_high_kg=mass_high_kg,
        nitrogen_low_kg=mass_high_kg / 400,
        nitrogen_likely_kg=mass_high_kg / 200,
        nitrogen_high_kg=mass_high_kg / 100,
        counted_kg=mass_high_kg / 2,
        status=LotStatus.CLEAN,
        happened_at=NOW,
        day=day,
        **changes,
    )


def test_what_a_place_got_is_summed_by_day_and_what_was_taken_back_is_nothing(store):
    books = store.books
    before, cause = DAY - timedelta(days=1), uuid4()
    wrong = entry(books, 70.0, day=before)
    weighed = entry(books, 80.0, weighed_kg=20.0)
    entries = [
        entry(books, 100.0),
        weighed,
        entry(books, 60.0, cause=cause),
        wrong,
        replace(wrong.taken_back(), id=uuid4()),
        entry(books, 40.0, to=books.compost_sites.id),
        entry(books, 10.0, day=DAY + timedelta(days=1)),
    ]
    with store.open_unit() as unit:
        unit.mass_movements.add_many(entries)
        found = unit.mass_movements.brought(
            books.firm.id,
            [books.beds.id, uuid4()],
            since=before,
            before=DAY + timedelta(days=1),
            without=[cause],
        )
        theirs = unit.mass_movements.brought(
            store.others.firm.id, [books.beds.id], since=before, before=DAY + timedelta(days=1)
        )
    (got,) = found
    assert (got.place_id, got.day) == (books.beds.id, DAY)
    # A weight is the whole truth of its load: a quarter of the high end, and so is its nitrogen.
    assert got.mass_kg == pytest.approx(100.0 + 20.0)
    assert got.nitrogen_kg == pytest.approx(1.0 + 0.8 / 4)
    assert theirs == []


def test_lots_of_which_a_place_got_something_are_found_by_its_days_alone(store):
    books = store.books
    lots = sorted(uuid4() for _ in range(5))
    wrong = entry(books, 70.0, lot=lots[2])
    entries = [
        entry(books, 100.0, lot=lots[0]),
        # What lay in one body is mixed: of this lot the plan counted nothing, and it is there.
        replace(entry(books, 0.0, lot=lots[1]), share=0.0),
        wrong,
        replace(wrong.taken_back(), id=uuid4()),
        entry(books, 10.0, lot=lots[3], day=DAY - timedelta(days=1)),
        entry(books, 10.0, lot=lots[4], to=books.compost_sites.id),
    ]
    with store.open_unit() as unit:
        unit.mass_movements.add_many(entries)
        asked = unit.mass_movements.lots_brought
        assert asked(books.firm.id, books.beds.id, since=DAY, until=DAY) == lots[:2]
        before = asked(books.firm.id, books.beds.id, since=DAY - timedelta(days=1), until=DAY)
        assert before == [*lots[:2], lots[3]]
        assert asked(store.others.firm.id, books.beds.id, since=DAY, until=DAY) == []


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
        unit.working_days.ensure(books.another("working_days", revision=0))
        unit.working_days.ensure(books.another("working_days", day=DAY + timedelta(days=1)))
        assert unit.working_days.of(books.firm.id, books.depots.id, DAY) == books.working_days
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


def test_a_note_is_found_by_its_id_alone(store):
    with store.open_unit() as unit:
        for books in (store.books, store.others):
            assert unit.delivery_notes.find(books.delivery_notes.id) == books.delivery_notes
        assert unit.delivery_notes.find(uuid4()) is None


def test_a_revoked_key_opens_nothing_and_keeps_its_first_time(store):
    firm_id, key = store.books.firm.id, store.books.key
    with store.open_unit() as unit:
        assert unit.api_keys.find(key.secret_sha256) == key
        assert unit.api_keys.revoke(firm_id, key.id, NOW) is True
        assert unit.api_keys.revoke(firm_id, key.id, NOW + timedelta(days=1)) is True
        assert unit.api_keys.find(key.secret_sha256) is None
        assert unit.api_keys.all(firm_id) == [replace(key, revoked_at=NOW)]
        assert unit.api_keys.revoke(firm_id, uuid4(), NOW) is False


def test_firms_are_listed_in_the_order_of_their_ids(store):
    with store.open_unit() as unit:
        assert unit.firms.all() == [store.books.firm, store.others.firm]
        assert unit.firms.get(store.others.firm.id) == store.others.firm
        assert unit.firms.get(uuid4()) is None


def test_the_trail_of_a_record_is_told_from_the_oldest_change(store):
    books = store.books
    second = books.amendment(record_version=3)
    first = books.amendment(record_version=2)
    with store.open_unit() as unit:
        unit.amendments.add(second)
        unit.amendments.add(first)
        assert unit.amendments.of(books.firm.id, books.lawns.id) == [first, second]
