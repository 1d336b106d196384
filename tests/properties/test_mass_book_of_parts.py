"""Random days on which held grass leaves its bay in parts: every kilogram is somewhere."""

from __future__ import annotations

import pytest

from tests.effort import examples
from tests.properties.heaps import Heaps
from tests.properties.walks import STEPS


@pytest.mark.parametrize("seed", range(examples(12)))
def test_of_what_leaves_a_bay_in_parts_every_kilogram_is_somewhere(seed):
    walk = Heaps(seed)
    walk.lay_in_bay()
    walk.world.clock.move(minutes=5)
    walk.release_part()
    assert walk.parts_out()
    for _ in range(STEPS // 2):
        walk.step()
        try:
            walk.assert_every_kilogram_is_somewhere()
            walk.assert_bodies_are_planned_as_they_are()
        except AssertionError as error:
            error.add_note(f"after {', '.join(walk.done)}")
            raise
