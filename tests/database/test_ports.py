"""What every store answers to the use cases: the stand-in in memory and both databases alike."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest

from service.core.errors import RecordExists, RecordMissing, VersionOvertaken
from service.core.jobs import JobState
from service.usecases.base.ports.transaction import Joined
from service.usecases.base.ports.unit_of_work import SAID
from tests.database.books import NOW, ORDER
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


def test_a_part_of_a_transaction_that_is_left_is_rolled_back_alone(store):
    first, second = store.books.another("clients"), store.books.another("clients")
    with store.open_unit() as unit:
        joined = Joined(unit, [])
        with joined.writing() as part:
            part.clients.add(first)
            part.commit()
        with joined.writing() as part:
            part.clients.add(second)
        with pytest.raises(RecordExists), joined.writing() as part:
            part.clients.add(replace(first, name="Other"))
        with joined.reading() as part:
            assert part.clients.get(first.firm_id, first.id) == first
            assert part.clients.get(second.firm_id, second.id) is None
        unit.commit()
    with store.open_unit() as unit:
        assert unit.clients.get(first.firm_id, first.id) == first
        assert unit.clients.get(second.firm_id, second.id) is None


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
