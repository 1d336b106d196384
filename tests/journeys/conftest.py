import pytest

from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.worlds import furnish, make_world


@pytest.fixture
def world(database_url):
    """Yield an app over a fresh database, once of each kind."""
    engine = make_engine(database_url)
    yield make_world(unit_of_work_opener(engine), reading_opener(engine))
    engine.dispose()


@pytest.fixture
def yard(world):
    """Return a firm with one record of each kind of book."""
    return furnish(world)
