"""Lists are found by day, lot and answer: in memory and in both databases alike, by an index."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import event, text

from service.core.jobs import JobState
from service.core.loads import HoldState, LoadPart, LoadState
from service.core.materials import LotStatus
from service.core.notes import Acknowledgement, Receipt
from service.core.places import DestinationKind
from service.storage.engine import make_engine
from service.storage.migrations import downgrade, upgrade
from service.storage.unit_of_work import unit_of_work_opener
from service.usecases.base.calendar import DepotDay, span_of
from service.usecases.day.tainted import TAINTS
from service.usecases.mass_book.movements import TIPPED_STATES
from tests.database.books import DAY, NOW
from tests.database.conftest import kept_books


def day_of(books, days=0):
    day = DAY + timedelta(days=days)
    span = span_of(books.depots, day)
    return DepotDay(depot_id=books.depots.id, day=day, start=span.start, end=span.end)


def ids(repository, firm_id, **filters):
    return {
        one.id for one in repository.page(firm_id, filters=filters, after=None, limit=9).records
    }


def test_jobs_are_found_by_the_day_of_their_depot(store):
    books = store.books
    planned = books.another(
        "jobs", state=JobState.PLANNED, cut_at=None, planned_at=NOW, lot_code="L-PLANNED"
    )
    last_week = books.another(
        "jobs", planned_at=NOW, cut_at=NOW - timedelta(days=7), lot_code="L-LASTWEEK"
    )
    with store.open_unit() as unit:
        unit.jobs.add_many([planned, last_week])
        firm_id = books.firm.id
        assert ids(unit.jobs, firm_id, days=(day_of(books),)) == {books.jobs.id, planned.id}
        assert ids(unit.jobs, firm_id, days=(day_of(books, -7),)) == {last_week.id}
        both = (day_of(books), day_of(books, -7))
        assert ids(unit.jobs, firm_id, days=both, state=JobState.PLANNED) == {planned.id}
        assert ids(unit.jobs, firm_id, days=()) == set()
        assert unit.jobs.count(firm_id, days=(day_of(books),)) == 2


def test_loads_and_what_names_them_are_found_by_the_lots_in_them(store):
    books, firm_id = store.books, store.books.firm.id
    other = books.another("jobs", lot_code="L-OTHER99")
    mixed = books.another(
        "loads",
        working_day=DAY + timedelta(days=1),
        parts=(
            LoadPart(job_id=books.jobs.id, lot_code=books.jobs.lot_code, share=0.5),
            LoadPart(job_id=other.id, lot_code=other.lot_code, share=0.5),
        ),
    )
    entry = books.another("hold_entries", load_id=mixed.id, state=HoldState.IN_BAY)
    with store.open_unit() as unit:
        unit.jobs.add(other)
        unit.loads.add(mixed)
        unit.hold_entries.add(entry)
        mine = books.jobs.lot_code
        assert ids(unit.loads, firm_id, lot_code="L-OTHER99") == {mixed.id}
        assert ids(unit.loads, firm_id, lot_code=mine) >= {mixed.id}
        assert ids(unit.loads, firm_id, lot_code=(mine, "L-OTHER99")) >= {mixed.id}
        assert ids(unit.loads, firm_id, days=(day_of(books, 1),)) == {mixed.id}
        assert ids(unit.hold_entries, firm_id, lot_code="L-OTHER99") == {entry.id}
        assert ids(unit.hold_entries, firm_id, days=(day_of(books, 1),)) == {entry.id}
        assert ids(unit.hold_entries, firm_id, vehicle_id=mixed.vehicle_id) >= {entry.id}
        whither = {"destination_id": mixed.destination_id}
        assert other.id in ids(unit.jobs, firm_id, **whither)
        assert ids(unit.loads, store.others.firm.id, lot_code="L-OTHER99") == set()


def test_a_day_is_told_of_no_load_of_other_days_that_it_has_nothing_to_do_with(store):
    books, firm_id = store.books, store.books.firm.id
    other = books.another("jobs", lot_code="L-OTHER99")
    part = LoadPart(job_id=other.id, lot_code=other.lot_code, share=1.0)

    def load(days, state, **more):
        return books.another(
            "loads", working_day=DAY + timedelta(days=days), state=state, parts=(part,), **more
        )

    long_done = {"done_at": NOW - timedelta(days=4)}
    told = [
        load(0, LoadState.DELIVERED, done_at=NOW),
        load(-1, LoadState.PLANNED),
        load(-2, LoadState.PARTLY_REFUSED, **long_done),
        load(-1, LoadState.DELIVERED, done_at=NOW),
        replace(load(1, LoadState.DELIVERED, **long_done), parts=books.loads.parts),
    ]
    untold = [
        load(-1, LoadState.DELIVERED, **long_done),
        load(0, LoadState.SUPERSEDED),
        load(1, LoadState.PLANNED, done_at=None),
        load(-20, LoadState.PLANNED),
    ]
    span = span_of(books.depots, DAY)
    with store.open_unit() as unit:
        unit.jobs.add(other)
        unit.loads.add_many([*told, *untold])
        found = unit.loads.around(
            firm_id,
            DAY,
            days=[DAY + timedelta(days=apart) for apart in range(-9, 4)],
            start=span.start,
            end=span.end,
            job_ids=[books.jobs.id],
        )
    assert {one.id for one in found} - {books.loads.id} == {one.id for one in told}


def test_what_may_have_turned_sour_is_found_by_the_loads_that_it_was_in(store):
    books, firm_id = store.books, store.books.firm.id
    turned = books.another("jobs", lot_code="L-TURNED9", status=LotStatus.CLEAN)
    fresh = books.another("jobs", lot_code="L-FRESH99", status=LotStatus.CLEAN)
    weedy = books.another("jobs", lot_code="L-WEEDY99", status=LotStatus.WEEDY)
    loads = [
        books.another(
            "loads",
            status=status,
            parts=(LoadPart(job_id=job.id, lot_code=job.lot_code, share=1.0),),
        )
        for job, status in ((turned, LotStatus.SOUR), (fresh, LotStatus.CLEAN))
    ]
    mine = {turned.id, fresh.id, weedy.id}
    with store.open_unit() as unit:
        unit.jobs.add_many([turned, fresh, weedy])
        unit.loads.add_many(loads)
        assert ids(unit.jobs, firm_id, may_be_sour=()) & mine == {turned.id}
        assert ids(unit.jobs, firm_id, may_be_sour=(LotStatus.WEEDY,)) & mine == {
            turned.id,
            weedy.id,
        }
        assert ids(unit.jobs, store.others.firm.id, may_be_sour=()) & mine == set()


def test_a_lot_that_comes_into_a_load_later_is_found_there(store):
    books, firm_id = store.books, store.books.firm.id
    trace = books.another("jobs", lot_code="L-TRACE99")
    part = LoadPart(job_id=trace.id, lot_code=trace.lot_code, share=0.0)
    with store.open_unit() as unit:
        unit.jobs.add(trace)
        load = replace(books.loads, version=2, parts=(*books.loads.parts, part))
        unit.loads.replace(load, expected_version=1)
        assert ids(unit.loads, firm_id, lot_code="L-TRACE99") == {load.id}


def test_what_was_answered_finds_notes_and_what_they_are_of(store):
    books, firm_id = store.books, store.books.firm.id
    load = books.another("loads")
    silent = books.another(
        "delivery_notes", load_id=load.id, acknowledgement=None, number="DN-2026-000002"
    )
    answered = books.delivery_notes.acknowledgement.receipt
    with store.open_unit() as unit:
        unit.loads.add(load)
        unit.delivery_notes.add(silent)
        assert ids(unit.delivery_notes, firm_id, answer=None) == {silent.id}
        assert ids(unit.delivery_notes, firm_id, answer=answered) == {books.delivery_notes.id}
        either = (None, answered)
        assert len(ids(unit.delivery_notes, firm_id, answer=either)) == 2
        assert ids(unit.loads, firm_id, answer=None) == {load.id}
        assert ids(unit.loads, firm_id, answer=answered) == {books.loads.id}
        said = Acknowledgement(receipt=Receipt.ABSENT, received_at=NOW)
        unit.delivery_notes.replace(
            replace(silent, version=2, acknowledgement=said), expected_version=1
        )
        assert ids(unit.loads, firm_id, answer=Receipt.ABSENT) == {load.id}
        # An earlier version that nobody answered waits for nobody.
        overtaken = replace(silent, version=3, acknowledgement=None)
        unit.delivery_notes.replace(overtaken, expected_version=2)
        later = books.another(
            "delivery_notes",
            load_id=load.id,
            number=silent.number,
            note_version=silent.note_version + 1,
            acknowledgement=said,
        )
        unit.delivery_notes.add(later)
        assert ids(unit.loads, firm_id, answer=None) == set()
        assert ids(unit.loads, firm_id, answer=Receipt.ABSENT) == {load.id}


# One question of each kind that a list asks.
ASKED = (
    ("jobs", lambda books: {"days": (day_of(books),)}),
    ("jobs", lambda books: {"days": (day_of(books),), "state": JobState.PLANNED}),
    ("jobs", lambda books: {"crew_id": books.crews.id, "days": (day_of(books),)}),
    ("jobs", lambda books: {"lot_code": books.jobs.lot_code}),
    ("jobs", lambda books: {"destination_id": books.beds.id}),
    ("jobs", lambda books: {"lawn_id": books.lawns.id}),
    ("jobs", lambda _books: {"state": JobState.PLANNED}),
    ("loads", lambda books: {"days": (day_of(books),)}),
    ("loads", lambda books: {"destination_id": books.beds.id}),
    ("loads", lambda _books: {"state": LoadState.UNDER_WAY}),
    ("loads", lambda books: {"lot_code": books.jobs.lot_code}),
    ("loads", lambda _books: {"answer": Receipt.REFUSED}),
    ("hold_entries", lambda books: {"days": (day_of(books),), "state": HoldState.IN_BAY}),
    ("hold_entries", lambda books: {"lot_code": books.jobs.lot_code}),
    ("delivery_notes", lambda books: {"days": (day_of(books),), "answer": None}),
    ("delivery_notes", lambda books: {"vehicle_id": books.vehicles.id}),
)


@pytest.fixture(params=["sqlite", "postgresql"])
def by_an_index(request):
    """Return what asks a question of kept books, and says how each statement of it was found."""
    kind = request.param
    engine = make_engine(request.getfixturevalue(f"{kind}_url"))
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    sent = []
    event.listen(
        engine,
        "before_cursor_execute",
        lambda _c, _cursor, statement, values, *_: sent.append((statement, values)),
    )

    def found(question):
        sent.clear()
        with open_unit() as unit:
            question(unit, books)
        asked = [one for one in sent if one[0].startswith("SELECT")]
        word = "EXPLAIN QUERY PLAN" if kind == "sqlite" else "EXPLAIN"
        plans = []
        with engine.connect() as connection:
            if kind == "postgresql":
                # Tables as small as a test's are read whole, rightly; can they be read otherwise?
                connection.execute(text("SET enable_seqscan = off"))
                connection.execute(text("ANALYZE"))
            for statement, values in asked:
                rows = connection.exec_driver_sql(f"{word} {statement}", values)
                plans.append("\n".join(str(row[-1]) for row in rows))
        for (statement, _), plan in zip(asked, plans, strict=True):
            assert "Seq Scan" not in plan, (statement, plan)
            assert "SCAN" not in plan, (statement, plan)
            # Everything a firm has is no more found than a table.
            assert "(firm_id=?)" not in plan, (statement, plan)
        return plans

    yield found
    engine.dispose()


def test_every_list_is_found_by_an_index(by_an_index):
    def question(unit, books):
        for name, filters in ASKED:
            unit.repository(name).page(books.firm.id, filters=filters(books), after=None, limit=50)
            unit.repository(name).all(books.firm.id, **filters(books))

    assert len(by_an_index(question)) == 2 * len(ASKED)


def test_the_visits_that_a_cut_may_be_the_same_as_are_found_by_the_indices_of_each(by_an_index):
    def question(unit, books):
        # Of so few as lie in a test's books any index of the firm's own would do.
        days = (NOW - timedelta(days=number) for number in range(2, 300))
        unit.jobs.add_many([books.another("jobs", cut_at=day) for day in days])
        unit.commit()
        unit.jobs.visits(
            books.firm.id,
            [books.jobs.id],
            lawn_ids=[books.lawns.id],
            start=NOW - timedelta(days=1),
            end=NOW + timedelta(days=1),
        )

    (plan,) = by_an_index(question)
    for index in ("ix_jobs_firm_id_reported_as_id", "ix_jobs_firm_id_lawn_id_cut_at"):
        assert index in plan, plan


def test_what_is_frozen_is_read_without_what_was_traced(store):
    recall = replace(store.books.recalls, version=2, is_open=True, ended_at=None)
    with store.open_unit() as unit:
        assert unit.recalls.open(recall.firm_id) == []
        unit.recalls.replace(recall, expected_version=1)
        assert unit.recalls.open(recall.firm_id) == [replace(recall, content={})]
        assert unit.recalls.get(recall.firm_id, recall.id) == recall


def test_recalls_of_before_name_the_loads_of_their_trace(database_url):
    engine = make_engine(database_url)
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    traced = {"places": [{"loads": [{"load_id": str(books.loads.id)}]}]}
    before = replace(books.recalls, version=2, content=traced, load_ids=(), lawns=())
    with open_unit() as unit:
        unit.recalls.replace(before, expected_version=1)
        unit.commit()
    downgrade(database_url, "0026")
    upgrade(database_url)
    with open_unit() as unit:
        kept = unit.recalls.get(before.firm_id, before.id)
    assert kept == replace(before, load_ids=(books.loads.id,), brought_since=())
    engine.dispose()


def test_what_was_kept_before_lists_could_be_found_is_found_since(database_url):
    engine = make_engine(database_url)
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    downgrade(database_url, "0015")
    upgrade(database_url)
    with open_unit() as unit:
        firm_id, answer = books.firm.id, books.delivery_notes.answer
        assert ids(unit.loads, firm_id, lot_code=books.jobs.lot_code) == {books.loads.id}
        assert ids(unit.delivery_notes, firm_id, answer=answer) == {books.delivery_notes.id}
        # The end of a link is younger than lists that are found, and went on the way down.
        still_open = replace(books.delivery_notes, link_ended_at=None)
        assert unit.delivery_notes.get(firm_id, books.delivery_notes.id) == still_open
    engine.dispose()


def test_what_tainted_beds_is_found_in_as_many_steps_however_much_clean_grass_lies_there(
    sqlite_url,
):
    engine, steps = make_engine(sqlite_url), []
    listen = event.listens_for(engine, "connect")
    listen(lambda raw, _: raw.set_progress_handler(lambda: steps.append(1) or 0, 100))
    books = kept_books(unit_of_work_opener(engine))

    def tainting(clean):
        """Lay so many clean loads on a bed; return the steps in which tainting ones are found."""
        with unit_of_work_opener(engine)() as unit:
            done = {"destination_kind": DestinationKind.BED, "state": LoadState.DELIVERED}
            fresh = (
                books.another("loads", status=LotStatus.CLEAN, plan_id=None, **done)
                for _ in range(clean)
            )
            unit.loads.add_many(list(fresh))
            unit.commit()
        with unit_of_work_opener(engine)() as unit:
            asked = {**done, "state": tuple(sorted(TIPPED_STATES))}
            steps.clear()
            unit.loads.all(books.firm.id, **asked, status=tuple(sorted(TAINTS)))
        return len(steps)

    few = tainting(50)
    assert tainting(800) <= few + 5
    engine.dispose()
