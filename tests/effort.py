"""How much a run tries. Every test runs in every run; the dear ones try more in a thorough one.

`HYPOTHESIS_PROFILE=thorough` tries all that is meant to be tried, `explore` twenty times as much.
Without it a run is for whoever changes something: it ends in minutes.
"""

import os
from collections.abc import Sequence
from typing import TypeVar

from hypothesis import settings

T = TypeVar("T")

# How long a test waits for a process or an answer before it calls it lost [s]. It says nothing of
# how long anything takes: with ten others on the machine what takes ten seconds takes minutes.
LOST_AFTER_S = 600

PROFILE = os.environ.get("HYPOTHESIS_PROFILE", "repeatable")
THOROUGH = PROFILE in {"thorough", "explore"}
LIGHT_SHARE = 0.25
USUAL = 100  # examples, hypothesis's own default

# The same examples in every run, so that a red run can be repeated; `explore` looks further.
settings.register_profile("repeatable", deadline=None, derandomize=True)
settings.register_profile("thorough", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, max_examples=20 * USUAL)


def examples(most: int) -> int:
    """Return how many examples a dear test draws, of so many in a thorough run."""
    if not THOROUGH:
        return max(1, round(most * LIGHT_SHARE))
    return most * settings.get_profile(PROFILE).max_examples // USUAL


def tried(every: Sequence[T], light: int) -> Sequence[T]:
    """Return all of them in a thorough run, else so many that lie evenly among them."""
    if THOROUGH or len(every) <= light:
        return every
    return [every[number * len(every) // light] for number in range(light)]
