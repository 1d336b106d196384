"""What every store answers of what places got: the stand-in in memory and both databases alike."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest

from tests.database.books import DAY
from tests.database.movements import entry


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


def test_nitrogen_that_is_kept_of_a_weight_counts_as_it_is_and_can_be_taken_back(store):
    books = store.books
    known = replace(entry(books, 80.0, weighed_kg=20.0), weighed_nitrogen_kg=0.3)
    wrong = replace(entry(books, 60.0, weighed_kg=20.0), weighed_nitrogen_kg=0.4)
    entries = [known, wrong, replace(wrong.taken_back(), id=uuid4())]
    with store.open_unit() as unit:
        unit.mass_movements.add_many(entries)
        (got,) = unit.mass_movements.brought(
            books.firm.id, [books.beds.id], since=DAY, before=DAY + timedelta(days=1)
        )
    assert (got.mass_kg, got.nitrogen_kg) == pytest.approx((20.0, 0.3))


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
