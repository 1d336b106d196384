import pytest

from tests.firms import make_firm


@pytest.fixture
def firm():
    """Return a firm with a depot and a bay."""
    return make_firm()


@pytest.fixture
def crew(firm):
    return firm.crew(firm.vehicle())
