"""Random firms' days over HTTP: after every step, every kilogram of every lot is somewhere."""

from __future__ import annotations

import pytest

from tests.effort import examples
from tests.properties.walks import STEPS, Walk


@pytest.mark.parametrize("seed", range(examples(40)))
def test_every_kilogram_is_somewhere_whatever_happens(seed):
    walk = Walk(seed)
    walk.mow_more()
    for _ in range(STEPS):
        walk.step()
        try:
            walk.assert_every_kilogram_is_somewhere()
        except AssertionError as error:
            error.add_note(f"after {', '.join(walk.done)}")
            raise
