from functools import cache

import pytest

from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.crews import Crew
from tests.depots import Depot
from tests.devices import Device
from tests.worlds import furnish, make_world


@cache
def engine_of(url):
    """Return the engine of an address: a second one would compile every statement again."""
    return make_engine(url)


@pytest.fixture
def world(database_url):
    """Yield an app over a fresh database, once of each kind."""
    engine = engine_of(database_url)
    yield make_world(unit_of_work_opener(engine), reading_opener(engine))
    engine.dispose()


@pytest.fixture
def yard(world):
    """Return a firm with one record of each kind of book."""
    return furnish(world)


@pytest.fixture
def depot():
    """Return a depot of four vehicles, two jobs each."""
    return Depot(vehicles=4)


@pytest.fixture
def crew():
    """Return a new customer's only crew."""
    return Crew()


@pytest.fixture
def device():
    """Return the tablet of a crew with a bay."""
    return Device()
