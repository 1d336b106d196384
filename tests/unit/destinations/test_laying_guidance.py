import pytest

from service.core.materials import Wetness
from service.destinations.guidance import laying_guidance
from service.rules.here import RulesHere
from tests.builders import DAY, JURISDICTION, RULES, a_bed, about


class InThisOrder(frozenset):
    """A set gone through in an order of ours: each process has its own for one set of words."""

    def __new__(cls, *members):
        made = super().__new__(cls, members)
        made.members = members
        return made

    def __iter__(self):
        return iter(self.members)


def sources_of_a_load(*wetness):
    return laying_guidance(
        a_bed(),
        mass_kg=about(100.0, unit="kg"),
        volume_m3=about(0.4, unit="m3"),
        wetness=InThisOrder(*wetness),
        room_kg=100.0,
        here=RulesHere(RULES, DAY, JURISDICTION),
    ).sources


@pytest.mark.parametrize("other", [one for one in Wetness if one is not Wetness.DRY])
def test_a_note_cites_the_same_sources_whichever_grass_of_one_depth_is_looked_at_first(other):
    first = sources_of_a_load(Wetness.DRY, other)
    assert first == sources_of_a_load(other, Wetness.DRY)
