"""What happens when several want the same at the same moment."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from threading import Barrier
from types import SimpleNamespace

import pytest
from sqlalchemy.exc import DBAPIError
from uuid_utils.compat import uuid7

from service.core.errors import (
    RecordExists,
    RecordInUse,
    RecordNotUsable,
    RecordsBusy,
    VersionOvertaken,
)
from service.storage.engine import make_engine
from service.usecases.base.ports.kept_answers import KeptAnswer
from service.usecases.records.field.scope import NothingAboard
from service.usecases.records.field.unkept import UnkeptTips
from tests.database.books import DAY, NOW
from tests.effort import LOST_AFTER_S
from tests.fakes import SetClock

RIVALS = 6


def at_once(work):
    """Call work(number) in several threads that start together; return what each returned."""
    start = Barrier(RIVALS)

    def wait_and_work(number):
        start.wait()
        return work(number)

    with ThreadPoolExecutor(RIVALS) as threads:
        return list(threads.map(wait_and_work, range(RIVALS)))


def test_of_rival_amendments_one_is_kept_and_the_others_are_told(open_unit, books):
    lawn = books.lawns

    def amend(number):
        with open_unit() as unit:
            assert unit.lawns.get(lawn.firm_id, lawn.id) is not None
            newer = replace(lawn, name=f"by {number}", version=2)
            try:
                unit.lawns.replace(newer, expected_version=1)
            except VersionOvertaken:
                return None
            unit.commit()
            return newer.name

    winners = [name for name in at_once(amend) if name]
    with open_unit() as unit:
        kept = unit.lawns.get(lawn.firm_id, lawn.id)
    assert winners == [kept.name]
    assert kept.version == 2


def test_no_event_of_a_day_is_lost(open_unit, books):
    def count(_number):
        for _ in range(5):
            with open_unit() as unit:
                assert unit.working_days.of(books.firm.id, books.depots.id, DAY) is not None
                unit.working_days.bump(books.firm.id, depot_id=None, from_day=DAY, to_day=None)
                unit.commit()

    at_once(count)
    with open_unit() as unit:
        kept = unit.working_days.of(books.firm.id, books.depots.id, DAY)
    assert kept.revision == books.working_days.revision + 5 * RIVALS


def test_events_of_many_days_do_not_wait_for_each_other_in_a_ring(open_unit, books):
    days = [books.another("working_days", day=DAY + timedelta(days=n)) for n in range(1, 40)]
    with open_unit() as unit:
        unit.working_days.add_many(days[::-1])
        unit.commit()

    def count(number):
        for _ in range(5):
            with open_unit() as unit:
                unit.working_days.bump(
                    books.firm.id,
                    depot_id=books.depots.id if number % 2 else None,
                    from_day=DAY + timedelta(days=number % 3),
                    to_day=None,
                )
                unit.commit()

    at_once(count)
    with open_unit() as unit:
        last = unit.working_days.get(books.firm.id, days[-1].id)
    assert last.revision == days[-1].revision + 5 * RIVALS


def test_a_day_that_many_want_to_keep_is_kept_once(open_unit, books):
    tomorrow = DAY + timedelta(days=1)

    def count(_number):
        with open_unit() as unit:
            unit.working_days.count_event(books.another("working_days", day=tomorrow, revision=0))
            unit.commit()

    at_once(count)
    with open_unit() as unit:
        [kept] = unit.working_days.all(books.firm.id, day=tomorrow)
    assert kept.revision == RIVALS


def test_a_plan_that_an_event_overtook_is_not_noted(open_unit, books):
    day = books.working_days

    def event_or_plan(number):
        with open_unit() as unit:
            if number == 0:
                unit.working_days.bump(books.firm.id, depot_id=None, from_day=DAY, to_day=DAY)
                unit.commit()
                return None
            plan = books.another("day_plans", sequence=number + 1)
            unit.day_plans.add(plan)
            marked = unit.working_days.mark_planned(day, revision=day.revision, plan_id=plan.id)
            if marked:
                unit.commit()
            return plan.id if marked else None

    marked = [plan for plan in at_once(event_or_plan) if plan]
    with open_unit() as unit:
        kept = unit.working_days.get(books.firm.id, day.id)
        plans = {plan.id for plan in unit.day_plans.all(books.firm.id)}
    assert kept.revision == day.revision + 1
    assert kept.planned_revision == day.revision
    assert kept.plan_id in {*marked, day.plan_id}
    assert plans == {*marked, books.day_plans.id}


def test_of_rival_requests_with_one_key_one_begins(open_unit, books):
    def begin(_number):
        answer = KeptAnswer(
            firm_id=books.firm.id,
            key="afternoon",
            request_sha256="ab" * 32,
            seed_id=uuid7(),
            started_at=NOW,
        )
        with open_unit() as unit:
            begun = unit.answers.begin(answer)
            unit.commit()
            return answer.seed_id if begun else None

    begun = [seed for seed in at_once(begin) if seed]
    with open_unit() as unit:
        assert begun == [unit.answers.get(books.firm.id, "afternoon").seed_id]


def test_of_rivals_for_an_unfinished_answer_one_takes_it_over(open_unit, books):
    answer = KeptAnswer(
        firm_id=books.firm.id,
        key="afternoon",
        request_sha256="ab" * 32,
        seed_id=uuid7(),
        started_at=NOW,
    )
    with open_unit() as unit:
        unit.answers.begin(answer)
        unit.commit()

    def restart(number):
        with open_unit() as unit:
            mine = unit.answers.restart(answer, started_at=NOW + timedelta(minutes=1 + number))
            unit.commit()
            return mine

    assert sorted(at_once(restart)) == [False] * (RIVALS - 1) + [True]


def test_no_number_of_a_note_is_given_twice_or_left_out(open_unit, books):
    def number_of(_number):
        given = []
        for _ in range(5):
            with open_unit() as unit:
                given.append(unit.delivery_notes.next_number(books.firm.id, 2026))
                unit.commit()
        return given

    given = [number for numbers in at_once(number_of) for number in numbers]
    assert sorted(given) == list(range(1, 5 * RIVALS + 1))


def test_a_number_that_was_not_committed_is_given_again(open_unit, books):
    with open_unit() as unit:
        assert unit.delivery_notes.next_number(books.firm.id, 2026) == 1
    with open_unit() as unit:
        assert unit.delivery_notes.next_number(books.firm.id, 2026) == 1
        assert unit.delivery_notes.next_number(books.firm.id, 2027) == 1
        assert unit.delivery_notes.next_number(books.firm.id, 2026) == 2


def test_of_rivals_with_one_id_one_is_kept(open_unit, books):
    lawn = books.another("lawns")

    def add(number):
        with open_unit() as unit:
            try:
                unit.lawns.add(replace(lawn, name=f"by {number}"))
            except RecordExists:
                return None
            unit.commit()
            return f"by {number}"

    winners = [name for name in at_once(add) if name]
    with open_unit() as unit:
        assert winners == [unit.lawns.get(lawn.firm_id, lawn.id).name]


def test_a_record_cannot_go_while_others_name_it(open_unit, books):
    for kind in ("clients", "properties", "lawns", "depots", "vehicles", "crews", "loads"):
        with open_unit() as unit, pytest.raises(RecordInUse):
            unit.repository(kind).remove(books.firm.id, getattr(books, kind).id)


def test_a_record_cannot_name_what_is_gone(open_unit, books):
    orphan = books.another("lawns", property_id=uuid7())
    with open_unit() as unit, pytest.raises(RecordNotUsable) as refused:
        unit.lawns.add(orphan)
    assert [fault.fault_code for fault in refused.value.faults] == ["reference_missing"]


def test_a_record_cannot_name_what_another_firm_keeps(open_unit, books):
    rival = replace(books.firm, id=uuid7())
    lawn = replace(books.another("lawns"), firm_id=rival.id)
    with open_unit() as unit:
        unit.firms.add(rival)
        with pytest.raises(RecordNotUsable):
            unit.lawns.add(lawn)


def test_of_a_delete_and_a_record_that_names_it_one_wins(open_unit, books):
    client = books.another("clients")
    with open_unit() as unit:
        unit.clients.add(client)
        unit.commit()

    def remove_or_name(number):
        with open_unit() as unit:
            try:
                if number == 0:
                    unit.clients.remove(client.firm_id, client.id)
                else:
                    unit.properties.add(books.another("properties", client_id=client.id))
            except (RecordInUse, RecordNotUsable):
                return False
            unit.commit()
            return True

    removed, *named = at_once(remove_or_name)
    assert [removed] * (RIVALS - 1) == [not kept for kept in named]


def test_who_only_reads_sees_one_moment_and_stops_nobody(open_unit, open_reading, books):
    lawn = books.lawns
    with open_reading() as reader:
        assert reader.lawns.get(lawn.firm_id, lawn.id).version == 1
        with open_unit() as writer:
            writer.lawns.replace(replace(lawn, version=2), expected_version=1)
            writer.lawns.add(books.another("lawns"))
            writer.commit()
        assert reader.lawns.get(lawn.firm_id, lawn.id).version == 1
        assert reader.lawns.count(lawn.firm_id) == 1
    with open_reading() as reader:
        assert reader.lawns.get(lawn.firm_id, lawn.id).version == 2
        assert reader.lawns.count(lawn.firm_id) == 2


def test_who_only_reads_cannot_write(open_unit, open_reading, books):
    with open_reading() as reader, pytest.raises(DBAPIError):
        reader.lawns.add(books.another("lawns"))
    with open_unit() as writer:
        writer.lawns.add(books.another("lawns"))
        writer.commit()


def test_a_new_file_can_be_opened_by_many_at_once(tmp_path):
    def connect(number):
        engine = make_engine(f"sqlite:///{tmp_path / 'new.sqlite'}", patient=True)
        with engine.begin() as connection:
            connection.exec_driver_sql(f"CREATE TABLE table_{number} (id INTEGER)")
        engine.dispose()
        return True

    assert all(at_once(connect))


def test_a_transaction_given_up_for_a_rival_says_so_and_kept_nothing(engine, open_unit, books):
    # Two orders of the same two records: PostgreSQL ends one side (40P01). SQLite's writers
    # queue instead, so nobody is ended.
    if engine.dialect.name != "postgresql":
        return
    first, second = books.lawns, books.another("lawns", name="Back")
    with open_unit() as unit:
        unit.lawns.add(second)
        unit.commit()
    met = Barrier(2)

    def amend(order):
        try:
            with open_unit() as unit:
                for number, lawn in enumerate(order):
                    again = replace(lawn, name="x", version=lawn.version + 1)
                    unit.lawns.replace(again, expected_version=lawn.version)
                    if number == 0:
                        met.wait(timeout=LOST_AFTER_S)
                unit.commit()
        except RecordsBusy as refusal:
            return refusal

    with ThreadPoolExecutor(2) as threads:
        ended = list(threads.map(amend, [(first, second), (second, first)]))
    assert sorted(type(end).__name__ for end in ended) == ["NoneType", "RecordsBusy"]


def test_of_tips_that_are_refused_at_once_none_is_forgotten(open_unit, books):
    """A weight would land on the tip before it."""
    tips = UnkeptTips(
        open_unit_of_work=open_unit, clock=SetClock(NOW), identifiers=SimpleNamespace(next_id=uuid7)
    )
    caller, second = SimpleNamespace(firm_id=books.firm.id), timedelta(seconds=1)
    places = {"vehicle_id": books.vehicles.id, "destination_id": books.beds.id}
    # Of the last ones not even the id can be read.
    ids = [*(uuid7() for _ in range(4 * RIVALS)), *(None for _ in range(RIVALS))]
    told = [SimpleNamespace(id=one, load_id=None, crew_id=None, **places) for one in ids]
    at = [NOW + n * timedelta(minutes=1) for n in range(len(told))]

    def refuse(number):
        for n in range(number, len(told), RIVALS):
            tips.add(caller, told[n], at[n], NothingAboard())

    def remembered():
        return [tips.is_any(caller, *places.values(), since=one - second, until=one) for one in at]

    at_once(refuse)
    assert remembered() == [True] * len(told)

    def mend(number):
        tips.drop(caller, told[number].id)

    at_once(mend)
    assert remembered() == [n >= RIVALS for n in range(len(told))]
