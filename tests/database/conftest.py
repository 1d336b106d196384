from types import SimpleNamespace

import pytest
from sqlalchemy import event

from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.database.books import Books
from tests.fakes import MemoryStore


@pytest.fixture
def engine(database_url):
    # Rivals wait their turn, however long a busy machine takes; who gives up is asked over HTTP.
    made = make_engine(database_url, patient=True)
    yield made
    made.dispose()


@pytest.fixture
def open_unit(engine):
    return unit_of_work_opener(engine)


@pytest.fixture
def open_reading(engine):
    return reading_opener(engine)


@pytest.fixture
def books(open_unit):
    """Return an invented firm's books, kept."""
    return kept_books(open_unit)


@pytest.fixture
def statements(engine):
    """Return the list that every statement sent to the database is noted in."""
    return noted(engine)


@pytest.fixture(params=["memory", "sqlite", "postgresql"])
def store(request):
    """Yield a way to open units and two firms' books, kept: in memory and in both databases.

    What the stand-in for the ports answers is worth what it has in common with the databases.
    """
    if request.param == "memory":
        engine, open_unit = None, MemoryStore()
    else:
        engine = make_engine(request.getfixturevalue(f"{request.param}_url"))
        open_unit = unit_of_work_opener(engine)
    yield SimpleNamespace(
        open_unit=open_unit,
        books=kept_books(open_unit),
        others=kept_books(open_unit, name="Another firm"),
    )
    if engine is not None:
        engine.dispose()


def kept_books(open_unit, **details):
    books = Books(**details)
    with open_unit() as unit:
        books.keep(unit)
        unit.commit()
    return books


def noted(engine):
    """Return a list that grows by every statement sent to the database."""
    sent = []

    def note(_connection, _cursor, statement, _parameters, _context, _many):
        if not statement.startswith(("PRAGMA", "BEGIN")):
            sent.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    return sent
