"""What is asked most often is put into words once: that takes longer than SQLite's answer."""

import pytest
from sqlalchemy import event

from tests.database.books import DAY, NOW


@pytest.fixture
def made(engine):
    """Return the list that every statement put into words is kept in, so that none is let go."""
    kept = []
    event.listen(engine, "before_execute", lambda _connection, said, *_rest: kept.append(said))
    return kept


def ask(unit, books):
    firm_id = books.firm.id
    unit.jobs.get(firm_id, books.jobs.id)
    unit.jobs.get_many(firm_id, [books.jobs.id])
    unit.lawns.get_many(firm_id, [books.lawns.id])
    unit.jobs.visits(firm_id, [books.jobs.id], lawn_ids=[books.lawns.id], start=NOW, end=NOW)
    unit.mass_movements.of_lots(firm_id, [books.jobs.id])
    unit.mass_balances.of_lots(firm_id, [books.jobs.id])
    unit.working_days.count_event(books.working_days)
    unit.working_days.bump(firm_id, depot_id=books.depots.id, from_day=DAY, to_day=DAY)
    unit.working_days.bump(firm_id, depot_id=None, from_day=DAY, to_day=None)
    unit.treatments.all(firm_id, lawn_id=(books.lawns.id,))
    unit.api_keys.find(books.key.secret_sha256)
    unit.weighed_loads.newest(firm_id, of_firm=1, lawns=["a"], of_lawn=1)


def test_a_question_that_is_asked_again_is_in_the_same_words(open_unit, books, made):
    with open_unit() as unit:
        ask(unit, books)
        first = list(made)
        made.clear()
        ask(unit, books)
    assert len(made) == len(first)
    assert all(again is before for again, before in zip(made, first, strict=True))
