import pytest

from tests.screens import joined
from tests.worlds import furnish, make_world, work


@pytest.fixture
def world():
    """Return an app over records in memory."""
    return make_world()


@pytest.fixture
def yard(world):
    """Return a firm with one record of each kind of book and paper."""
    return work(furnish(world))


@pytest.fixture
def office(world, yard):
    return joined(world, yard, "dispatcher")
