"""The log of tips that labels point into: thinning labels, and reading plans back. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.labelling.labels import LEAST, NODE, RED


def _thinned(labels: Array, count: int, limit: int) -> Array:
    """Keep the labels whose plan may cost no more than the limit; return how many they are."""
    kept = 0
    for k in range(count):
        if labels[k, LEAST] <= limit:
            labels[kept] = labels[k]
            kept += 1
    return kept


def _unrolled(labels: Array, count: int, nodes: Array, most: int) -> Array:
    """Return reduced costs, lengths and tips of the labels, read back from the log."""
    reds = np.empty(count, dtype=np.int64)
    lengths = np.zeros(count, dtype=np.int64)
    tips = np.empty((count, most, 3), dtype=np.int64)
    for k in range(count):
        reds[k] = labels[k, RED]
        node = labels[k, NODE]
        while node >= 0:
            lengths[k] += 1 if nodes[node, 1] >= 0 else 0
            node = nodes[node, 0]
        node, length, extra, later = labels[k, NODE], lengths[k], np.int64(0), np.int64(0)
        while node >= 0:
            if nodes[node, 1] >= 0:
                length -= 1
                tips[k, length, 0], tips[k, length, 1] = nodes[node, 1], nodes[node, 2]
                tips[k, length, 2] = nodes[node, 3] + extra
                extra, later = later, np.int64(0)
            elif nodes[node, 2] == 1:
                later += nodes[node, 3]
            else:
                extra += nodes[node, 3]
            node = nodes[node, 0]
    return reds, lengths, tips


thinned = compiled(_thinned)
unrolled = compiled(_unrolled)
