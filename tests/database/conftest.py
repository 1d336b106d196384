import pytest

from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.database.books import Books


@pytest.fixture
def engine(database_url):
    made = make_engine(database_url)
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
    books = Books()
    with open_unit() as unit:
        books.keep(unit)
        unit.commit()
    return books
