# ruff: noqa: C901, PLR0911, PLR0917 - machine code wants flat branches
"""States of a vehicle on its way: how a tip is left open, and which states make others useless.

A label is a state right after a job. How much a partial tip drops is left open: the label keeps a
*credit*, so many kilograms that may still be said to have been dropped there, at that destination's
price, and draws on it when a later lot would not fit. So one label stands for every split. Two
credits are kept apart, the cheaper one first. Compiled.
"""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.roads import LATE_STEP_S, LATE_STEPS, STEPS

# Columns of a label: reduced cost, clock, kilograms, litres, bits aboard,
RED, TIME, LOAD, VOL, BITS = range(5)
# two credits (kilograms, price, which tracked destination), litres per kilogram of what they drop,
CREDIT, CPRICE, COF, DEAR, DPRICE, DOF, CVOL, CKG = range(5, 13)
# drawn from the open credit, 1 if that is of the last tip but one, last tip, first lot since
# empty, what may leave at partial tips in all if they may overflow, least cost of the whole plan,
# use of tracked destinations,
DRAWN, SKIP, NODE, FIRST, SHEDDABLE, LEAST, USED = range(13, 20)
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


def _draw(s: Array, kg: int, bound: int) -> None:
    """Say that ``kg`` more were dropped on credit, the cheaper credit first; kg <= both credits.

    Litres follow: in plan mode rounded so that too many stay aboard, in bound mode too few.
    """
    cheap = min(kg, s[CREDIT])
    dear = kg - cheap
    s[RED] += cheap * s[CPRICE] + dear * s[DPRICE]
    s[CREDIT] -= cheap
    s[DEAR] -= dear
    if s[COF] >= 0:
        s[USED + s[COF]] += cheap
    if dear > 0 and s[DOF] >= 0:
        s[USED + s[DOF]] += dear
    s[LOAD] -= kg
    s[DRAWN] += kg
    s[SHEDDABLE] = max(s[SHEDDABLE] - kg, 0)
    if bound == 1:
        s[VOL] = max(s[VOL] + (-kg * s[CVOL]) // s[CKG], 0)
    else:
        s[VOL] -= kg * s[CVOL] // s[CKG]
    if s[CREDIT] == 0 and s[DEAR] > 0:
        s[CREDIT], s[CPRICE], s[COF] = s[DEAR], s[DPRICE], s[DOF]
        s[DEAR] = 0


draw = compiled(_draw)


def _open_credit(s: Array, kg: int, price: int, of: int, spare: int) -> None:
    """Add a credit to those of a state, ``spare`` kilograms in all; the cheapest come first.

    Should three be left, the two whose joining loses least become one, at the lower price.
    """
    low_kg, low, low_of = s[CREDIT], s[CPRICE], s[COF]
    high_kg, high, high_of = s[DEAR], s[DPRICE], s[DOF]
    top_kg, top, top_of = kg, price, of
    if high_kg == 0 or top < high:
        high_kg, high, high_of, top_kg, top, top_of = top_kg, top, top_of, high_kg, high, high_of
    if low_kg == 0 or high < low:
        low_kg, low, low_of, high_kg, high, high_of = high_kg, high, high_of, low_kg, low, low_of
    low_kg = min(low_kg, spare)
    high_kg = min(high_kg, spare - low_kg)
    top_kg = min(top_kg, spare - low_kg - high_kg)
    if top_kg > 0:
        if high_kg * (high - low) <= top_kg * (top - high):
            low_kg, low_of = low_kg + high_kg, np.int64(-1)
            high_kg, high, high_of = top_kg, top, top_of
        else:
            high_kg, high_of = high_kg + top_kg, np.int64(-1)
    s[CREDIT], s[CPRICE], s[COF] = low_kg, low, low_of
    s[DEAR], s[DPRICE], s[DOF] = high_kg, high, high_of


open_credit = compiled(_open_credit)


def _useless(a: Array, b: Array, strict: int) -> Array:
    """Tell whether label a, not dearer, can do all that label b can.

    It is no later, no heavier, no fuller, carries no other bits, has used no more of tracked
    destinations, and can draw on credit as well, or is already below what b can draw down to.
    """
    if a[TIME] > b[TIME] or a[LOAD] > b[LOAD] or a[VOL] > b[VOL] or (a[BITS] & ~b[BITS]) != 0:
        return False
    if strict == 1 and a[LOAD] != b[LOAD]:
        return False
    for k in range(USED, USED + TRACKED):
        if a[k] > b[k]:
            return False
    credit = b[CREDIT] + b[DEAR]
    if credit == 0 and b[SHEDDABLE] == 0:
        return True
    least = max(credit, b[SHEDDABLE])
    if a[LOAD] <= b[LOAD] - least and (b[VOL] - a[VOL]) * b[CKG] >= least * b[CVOL]:
        return True
    if b[SHEDDABLE] > 0 and a[SHEDDABLE] == 0:
        return False
    if a[CREDIT] < b[CREDIT] or a[CPRICE] > b[CPRICE] or a[CVOL] * b[CKG] < b[CVOL] * a[CKG]:
        return False
    if a[COF] >= 0 and a[COF] != b[COF]:
        return False
    if b[DEAR] == 0 or a[CREDIT] >= credit:
        return True
    return (
        a[CREDIT] + a[DEAR] >= credit
        and a[DPRICE] <= b[DPRICE]
        and (a[DOF] < 0 or a[DOF] == b[DOF])
    )


useless = compiled(_useless)


def _keep(new: Array, count: int, old: Array, results: int, strict: int, beam: int) -> Array:
    """Return the labels that no other makes useless, cheapest first, and how many they are.

    With ``results`` above 0 so many are kept in any case: the last step wants the runners-up.
    With ``beam`` above 0 only so many of the most promising are looked at.
    """
    if beam > 0 and count > beam:
        limit = np.partition(new[:count, LEAST], beam - 1)[beam - 1]
        kept = 0
        for k in range(count):
            if new[k, LEAST] <= limit:
                new[kept] = new[k]
                kept += 1
        count = kept
    order = np.argsort(new[:count, RED], kind="mergesort")
    kept = 0
    if old.shape[0] < count:
        old = np.empty((count + 64, old.shape[1]), dtype=np.int64)
    for position in range(count):
        b = new[order[position]]
        hidden = False
        for k in range(kept):
            if useless(old[k], b, strict):
                hidden = True
                break
        if not hidden or kept < results:
            old[kept] = b
            kept += 1
        if results > 0 and kept >= results:
            break
    return old, kept


keep = compiled(_keep)


def _rest(togo: Array, late: Array, gap: int, s: Array, t0: int, step: int) -> Array:
    """Return what a label costs from this gap on, at least; it may draw on its credit."""
    slot = min(max((s[TIME] - t0) // LATE_STEP_S, 0), LATE_STEPS - 1)
    load, credit = s[LOAD], s[CREDIT] + s[DEAR]
    high = min(load // step, STEPS)
    best = togo[gap, s[FIRST], high]
    for k in range(min((load - credit) // step, STEPS), high):
        kg = max(load - (k + 1) * step + 1, 0)
        cheap = min(kg, s[CREDIT])
        cost = togo[gap, s[FIRST], k] + cheap * s[CPRICE] + (kg - cheap) * s[DPRICE]
        best = min(best, cost)
    return best + late[gap, slot]


rest = compiled(_rest)
