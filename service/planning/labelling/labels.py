# ruff: noqa: C901, PLR0911, PLR0917 - machine code wants flat branches
"""States of a vehicle on its way: how a tip is left open, and which states make others useless.

A label is a state right after a job. How much a partial tip drops is left open: the label keeps a
*credit*, so many kilograms that may still be said to have been dropped there, at that destination's
price, and draws on it when a later lot would not fit. So one label stands for every split. Several
credits stand side by side, the cheapest first. Compiled.
"""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.uncounted import borrowed

# Columns of a label: reduced cost, clock, kilograms, litres, bits aboard,
RED, TIME, LOAD, VOL, BITS = range(5)
# kilograms of all credits, litres per kilogram of what they drop, drawn from the open credit,
# 1 if that is of the last tip but one, last tip, first lot since empty, what may leave at partial
# tips in all if they may overflow, least cost of the whole plan, bits of what was asked and done,
CREDIT, CVOL, CKG, DRAWN, SKIP, NODE, FIRST, SHEDDABLE, LEAST, HEEDED = range(5, 15)
# litres of the lots since the last tip, which no credit can drop,
SINCE = 15
# the credits, the cheapest first: kilograms, price, which tracked destination,
CREDITS = 16
MOST_CREDITS = 5
ONE = 3  # columns of one credit
# use of tracked destinations,
USED = CREDITS + MOST_CREDITS * ONE
TRACKED = 6
WIDTH = USED + TRACKED
# and, on the way through a gap: candidate it is at, tips made, needed ones met.
AT, DEPTH, MET = WIDTH, WIDTH + 1, WIDTH + 2
STATE = WIDTH + 3


def _grown(rows: Array) -> Array:
    """Return the rows in twice the space."""
    more = np.empty((2 * rows.shape[0], rows.shape[1]), dtype=np.int64)
    more[: rows.shape[0]] = rows
    return more


grown = compiled(_grown)


def _tipped(nodes: Array, node: int, drawn: int, skip: int, d: int) -> Array:
    """Return what a plan has tipped at a destination so far, and whether its credit is open.

    ``drawn`` belongs to the last tip, or with ``skip`` 1 to the last but one.
    """
    kg, tips = np.int64(0), 0
    extra, later = (np.int64(0), drawn) if skip == 1 else (drawn, np.int64(0))
    mine = False
    while node >= 0:
        if nodes[node, 1] >= 0:
            if nodes[node, 2] == d:
                kg += nodes[node, 3] + extra
                mine = mine or tips == skip
            tips += 1
            extra, later = later, np.int64(0)
        elif nodes[node, 2] == 1:
            later += nodes[node, 3]
        else:
            extra += nodes[node, 3]
        node = nodes[node, 0]
    return kg, mine


tipped = compiled(_tipped)


def _closed(s: Array, at: int) -> None:
    """Take out a credit of a state; those behind it move up."""
    s[CREDIT] -= s[CREDITS + at * ONE]
    for k in range(CREDITS + at * ONE, USED - ONE):
        s[k] = s[k + ONE]
    s[USED - ONE] = 0


closed = compiled(_closed, inline=True)


def _draw(s: Array, kg: int) -> None:
    """Say that ``kg`` more were dropped on credit, the cheapest first; kg <= all credits."""
    s[LOAD] -= kg
    s[DRAWN] += kg
    while kg > 0 and s[CREDITS] > 0:
        some = min(kg, s[CREDITS])
        s[RED] += some * s[CREDITS + 1]
        if s[CREDITS + 2] >= 0:
            s[USED + s[CREDITS + 2]] += some
        kg -= some
        s[CREDITS] -= some
        s[CREDIT] -= some
        if s[CREDITS] == 0:
            closed(s, 0)


draw = compiled(_draw)


def _fitted(s: Array, spare: int) -> None:
    """Cut the credits down to so many kilograms in all, the dearest first."""
    left = max(spare, 0)
    for k in range(CREDITS, USED, ONE):
        s[k] = min(s[k], left)
        left -= s[k]
    s[CREDIT] = max(spare, 0) - left


fitted = compiled(_fitted, inline=True)


def _open_credit(s: Array, kg: int, price: int, of: int, spare: int) -> None:
    """Add a credit to those of a state, ``spare`` kilograms in all; the cheapest come first.

    Should there be one too many, the two neighbours whose joining loses least become one, at the
    lower price.
    """
    for k in range(CREDITS, USED, ONE):
        if s[k] == 0 or price < s[k + 1]:
            old_kg, old_price, old_of = s[k], s[k + 1], s[k + 2]
            s[k], s[k + 1], s[k + 2] = kg, price, of
            kg, price, of = old_kg, old_price, old_of
        if kg == 0:
            break
    if kg > 0:  # one too many: it stands behind the last
        best, least = USED - ONE, kg * (price - s[USED - ONE + 1])
        for k in range(CREDITS, USED - ONE, ONE):
            loss = s[k + ONE] * (s[k + ONE + 1] - s[k + 1])
            if loss < least:
                best, least = k, loss
        s[best] += kg if best == USED - ONE else s[best + ONE]
        s[best + 2] = -1
        if best < USED - ONE:
            for k in range(best + ONE, USED - ONE):
                s[k] = s[k + ONE]
            s[USED - ONE], s[USED - ONE + 1], s[USED - ONE + 2] = kg, price, of
    fitted(s, spare)


open_credit = compiled(_open_credit, inline=True)


def _draws_no_dearer(a: Array, b: Array, lighter: int) -> Array:
    """Tell whether a, so much lighter already, can draw as low as b, at no greater cost in all."""
    if a[CREDIT] < b[CREDIT] - lighter:
        return False
    for k in range(CREDITS, USED, ONE):
        if a[k] > 0 and a[k + 2] >= 0:  # room that is tracked: then only the same will do
            if lighter > 0:
                return False
            return bool((a[CREDITS:USED] == b[CREDITS:USED]).all())
    # Both costs are convex in what is drawn: their difference is least where one of them bends.
    spare, at, left = b[RED] - a[RED], CREDITS, a[CREDITS]
    free = lighter
    for k in range(CREDITS, USED, ONE):
        if b[k] == 0:
            break
        some = b[k]
        while some > 0:
            if free > 0:
                step = min(some, free)
                free -= step
                spare += step * b[k + 1]
            else:
                while left == 0:
                    at += ONE
                    left = a[at]
                step = min(some, left)
                left -= step
                spare += step * (b[k + 1] - a[at + 1])
            some -= step
            if spare < 0:
                return False
    return True


draws_no_dearer = compiled(_draws_no_dearer, inline=True)


def _useless(a: Array, b: Array, floors: Array) -> Array:
    """Tell whether label a, not dearer, can do all that label b can.

    It is no later, no heavier, no fuller, carries no other bits, has used no more of tracked
    destinations, and can draw on credit as well, as low, or is already below what b can draw down
    to.
    A load below ``floors`` may be too little for a tip that is demanded later on: in any case, and
    for each thing asked that is not done yet.
    """
    if a[TIME] > b[TIME] or a[LOAD] > b[LOAD] or a[VOL] > b[VOL] or (a[BITS] & ~b[BITS]) != 0:
        return False
    if (b[HEEDED] & ~a[HEEDED]) != 0:
        return False
    if a[LOAD] != b[LOAD]:
        for k in range(floors.shape[0]):
            if a[LOAD] < floors[k] and (k == 0 or (a[HEEDED] >> (k - 1)) & 1 == 0):
                return False
    for k in range(USED, USED + TRACKED):
        if a[k] > b[k]:
            return False
    if b[CREDIT] == 0 and b[SHEDDABLE] == 0:
        return True
    lighter = b[LOAD] - a[LOAD]
    if b[CVOL] > 0:
        lighter = min(lighter, (b[VOL] - a[VOL]) * b[CKG] // b[CVOL])
    if lighter >= max(b[CREDIT], b[SHEDDABLE]):
        return True
    if b[SHEDDABLE] > 0 and a[SHEDDABLE] == 0:
        return False
    if lighter < b[CREDIT] and (a[SINCE] > b[SINCE] or a[CVOL] * b[CKG] < b[CVOL] * a[CKG]):
        return False
    return draws_no_dearer(a, b, min(lighter, b[CREDIT]))


useless = compiled(_useless, inline=True)


def _keep(
    new: Array,
    count: int,
    old: Array,
    results: int,
    floors: Array,
    beam: int,
    astray: int,
    wait: int,
    opens: int,
) -> Array:
    """Return the labels that no other makes useless, cheapest first, and how many they are.

    With ``results`` above 0 so many are kept in any case: the last step wants the runners-up.
    With ``beam`` above 0 only so many of the most promising are looked at. A lighter label must be
    cheaper by ``astray``: so much rounded ways may save over tips that it need not make. A sooner
    one must be cheaper by what it may wait for longer, at ``wait`` a second until ``opens``.
    """
    if beam > 0 and count > beam:
        limit = np.partition(new[:count, LEAST], beam - 1)[beam - 1]
        kept = 0
        for k in range(count):
            if new[k, LEAST] <= limit:
                new[kept] = new[k]
                kept += 1
        count = kept
    if wait > 0:
        new[:count, RED] -= wait * np.minimum(new[:count, TIME], opens)
    order = np.argsort(new[:count, RED], kind="mergesort")
    kept = 0
    if old.shape[0] < count:
        old = np.empty((count + 64, old.shape[1]), dtype=np.int64)
    fresh, rows, least = borrowed(new), borrowed(old), borrowed(floors)
    for position in range(count):
        b = fresh[order[position]]
        hidden = False
        for k in range(kept):
            cheaper = b[RED] - rows[k, RED] >= astray or rows[k, LOAD] == b[LOAD]
            if cheaper and useless(rows[k], b, least):
                hidden = True
                break
        if not hidden or kept < results:
            rows[kept] = b
            kept += 1
        if results > 0 and kept >= results:
            break
    old[0] = old[0]  # borrowed until here
    if wait > 0:
        old[:kept, RED] += wait * np.minimum(old[:kept, TIME], opens)
    return old, kept


keep = compiled(_keep)
