# ruff: noqa: C901 - machine code wants flat loops
"""The cheapest tip plans of a vehicle, by labelling under a rising cutoff. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import CUTOFF, FAR, Offer, Road
from service.planning.labelling.candidate_elimination import least_with
from service.planning.labelling.completion_bounds import after_first, completions
from service.planning.labelling.label_setting import label
from service.planning.labelling.load_steps import least_of

HALVINGS = 2  # of the way to a cutoff at which a bound gave up


def _price(rules: Array, road: Road, offer: Offer) -> Array:
    """Return the cheapest tip plans below ``rules[CUTOFF]``, see ``_label``.

    With an effort of -1 a bound gave up, and the one cost returned is what it has proven.

    The search starts with a low cutoff, a little above the least possible, and raises it until
    something is found: what is found first is the cheapest. At each cutoff only candidates that a
    plan below it may use are looked at. Where a bound gives up, cutoffs in between are tried.
    """
    togo = completions(rules, road, offer)
    after = after_first(rules, road, offer, togo)
    least = least_of(road, togo)
    slack = max(least // 100, 1)
    proven, too_high, halved = least, np.int64(0), 0
    with_tip = least_with(rules, road, offer, togo)
    used = np.empty(len(with_tip), dtype=np.int64)
    offsets = np.empty(len(road.offsets), dtype=np.int64)
    while True:
        limit = min(rules[CUTOFF], least + slack)
        if halved > 0:
            limit = (proven + too_high) // 2
        count = 0
        for gap in range(len(offsets) - 1):
            offsets[gap] = count
            for row in range(road.offsets[gap], road.offsets[gap + 1]):
                if with_tip[row] <= limit:
                    used[count] = row
                    count += 1
        offsets[-1] = count
        reds, lengths, tips, made = label(rules, road, offer, togo, after, limit, used, offsets)
        if made < 0:  # a bound gave up; what it found nothing below is proven all the same
            too_high, halved = limit, halved + 1
            if halved > HALVINGS or too_high - proven <= least // 500:
                return np.full(1, proven), np.zeros(1, np.int64), tips, made
            continue
        proven = limit + 1
        if len(reds) > 0 or limit >= rules[CUTOFF] or slack > FAR:
            return np.maximum(reds, least), lengths, tips, made  # shedding may seem cheaper
        if halved == 0:
            slack *= 2
        elif halved == HALVINGS or too_high - proven <= least // 500:
            return np.full(1, proven), np.zeros(1, np.int64), tips, np.int64(-1)
        else:
            halved += 1


price = compiled(_price)
