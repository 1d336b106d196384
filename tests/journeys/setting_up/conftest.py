import pytest

from tests.screens import joined
from tests.worlds import furnish, make_world


@pytest.fixture
def yard():
    """Return a world, and a firm in it with one record of each kind of book."""
    world = make_world()
    return world, furnish(world)


@pytest.fixture
def office(yard):
    return joined(*yard, "dispatcher")
