"""Customary numbers of the help steps, each with where it comes from.

They are advice for the person with a rake, not limits: limits reach the note
through `Guidance`. A firm that has better numbers hands in its own.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomaryPractice:
    """Numbers of the steps for a sour heap, for curled plants and for the test pots.

    Parameters
    ----------
    sour_spread_mm
        A sour heap is spread out no deeper than this [mm].
    sour_browns_parts
        Or this many parts of dry material by volume are forked into one part.
    sour_off_plants_days
        It is kept off plants this long [d].
    sour_call_after_hours
        If it still smells after this long, call [h].
    test_pots
        Pots with the mulch, and as many without.
    test_beans
        Beans sown in each pot.
    test_mulch_parts
        Parts of mulch to one part of potting soil, by volume.
    test_weeks_low, test_weeks_high
        How long beans are watched [weeks].
    """

    sour_spread_mm: float
    sour_browns_parts: int
    sour_off_plants_days: int
    sour_call_after_hours: int
    test_pots: int
    test_beans: int
    test_mulch_parts: int
    test_weeks_low: int
    test_weeks_high: int


CUSTOMARY: Final = CustomaryPractice(
    # Common practice, no source: the four numbers for a sour heap.
    sour_spread_mm=10,
    sour_browns_parts=2,
    sour_off_plants_days=14,
    sour_call_after_hours=48,
    # Bean test: two parts of material to one of potting soil, three pots and three
    # controls of three beans each, two to three weeks; Oregon State University and Washington State
    # University extension, read in a quotation of both (tendingmygarden.com, "How to
    # test for the presence of herbicides", seen 2026-11).
    test_pots=3,
    test_beans=3,
    test_mulch_parts=2,
    test_weeks_low=2,
    test_weeks_high=3,
)
