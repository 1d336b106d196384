"""How long grass keeps by what is known of it: what nobody knows keeps no longer than the worst."""

from datetime import date

import pytest

from service.core.materials import Wetness
from service.destinations.freshness import keeping_time
from tests.builders import RULES


def keeps(wetness):
    return keeping_time(wetness, rulebook=RULES, day=date(2026, 5, 24), jurisdiction="")


@pytest.mark.parametrize("wetness", [word for word in Wetness if word is not Wetness.UNKNOWN])
def test_grass_that_nobody_looked_at_keeps_no_longer_than_any(wetness):
    assert keeps(Wetness.UNKNOWN).red <= keeps(wetness).red
    assert keeps(Wetness.UNKNOWN).amber <= keeps(wetness).amber
