import pytest

from tests.contract.operations import DOCUMENT
from tests.worlds import furnish, make_world, work


@pytest.fixture(scope="session")
def document():
    """Return the contract as the code writes it now."""
    return DOCUMENT


@pytest.fixture(scope="module")
def world():
    """Return an app over records in memory."""
    return make_world()


@pytest.fixture(scope="module")
def yard(world):
    """Return a firm with one record of every kind."""
    return work(furnish(world))
