# ruff: noqa: C901, PLR0912, PLR0915 - machine code wants flat loops
"""Which of all destinations could be in a better tip plan than the best one known. Compiled."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.delays import delayed
from service.planning.arrays.inputs import (
    ASTRAY,
    DRIVE,
    FAR,
    GRID,
    KG,
    PACE_CLOCK,
    ROUNDING_M,
    ROUNDING_S,
    SHED,
    START_KG,
    TIPS,
    Offer,
    Road,
)
from service.planning.arrays.travel import MATRIX_MODE, seconds_of, spread
from service.planning.labelling.candidate_elimination import through_gaps
from service.planning.labelling.completion_bounds import completions
from service.planning.labelling.cut_tolls import toll_of
from service.planning.labelling.gap_costs import demanded, tip_costs
from service.planning.labelling.load_steps import least_of, step_of


class Everywhere(NamedTuple):
    """All destinations as a vehicle sees them."""

    mode: int
    points: Array
    metres: Array
    seconds: Array
    factors: Array
    places: Array  # of the vehicle: here, jobs, end
    place_of: Array
    accepts: Array
    stop: Array
    tip_s: Array
    close_s: Array
    price: Array
    room: Array
    toll_kg: Array
    toll: Array


def _detours(rules: Array, road: Road, far: Everywhere, gap: int) -> Array:
    """Return the least cost of passing a gap by each destination, before any kilogram."""
    total, clock = far.place_of.shape[0], road.pace[gap, PACE_CLOCK]
    fixed = np.empty(total, dtype=np.int64)
    a, b = far.places[gap], far.places[gap + 1]
    there = spread(far.mode, far.points, far.metres, far.factors, a, far.place_of, 0)
    onward = spread(far.mode, far.points, far.metres, far.factors, b, far.place_of, 1)
    matrix, speed = far.mode == MATRIX_MODE, far.factors[1]
    for d in range(total):
        here, m1, m2 = far.place_of[d], there[d], onward[d]
        fixed[d] = np.int64(m1 + m2) * rules[DRIVE] + far.stop[d]
        s1 = far.seconds[a, here] if matrix else seconds_of(m1, speed)
        s2 = far.seconds[here, b] if matrix else seconds_of(m2, speed)
        if clock + s1 > far.close_s[d]:
            fixed[d] = FAR
            continue
        later = max(s1 + s2 + far.tip_s[d] - road.legs[gap, 1] - ROUNDING_S, 0)
        fixed[d] += delayed(rules, road, gap, later)
    return fixed


detours = compiled(_detours)


def _second_tips(rules: Array, far: Everywhere, kinds: Array, step: int) -> Array:
    """Return the least cost of dropping k steps at a second tip anywhere, at no detour.

    One row for each of the ``kinds`` aboard. Rounded ways may even be shorter with it.
    """
    last, shorter = rules[GRID], ROUNDING_M * rules[DRIVE]
    second = np.full((kinds.shape[0], last + 1), FAR, dtype=np.int64)
    cost = np.empty(last + 1, dtype=np.int64)
    for d in range(far.place_of.shape[0]):
        room, taken = far.room[d], False
        if room <= 0 or not rules[TIPS] > 1:
            continue
        within, slope = min(last, room // step), far.price[d] * step
        ends = min(within + 1, last)
        for row in range(kinds.shape[0]):
            if (kinds[row] & ~far.accepts[d]) != 0:
                continue
            if not taken:
                taken = True
                at_once = far.stop[d] - max(shorter, min(far.stop[d], rules[ASTRAY]))
                for k in range(within + 1):
                    cost[k] = at_once + slope * k
                if within < last:
                    cost[ends] = at_once + far.price[d] * room
                    cost[ends] += rules[SHED] * ((within + 1) * step - room)
                if far.toll_kg.shape[1] > 0 and far.toll_kg[d, 0] <= room:
                    for k in range(ends + 1):
                        cost[k] += toll_of(far.toll_kg, far.toll, d, min(k, within) * step)
            mine = second[row]
            for k in range(ends + 1):
                mine[k] = min(mine[k], cost[k])
    for row in range(kinds.shape[0]):
        second[row, 0] = 0
        for k in range(1, last + 1):
            second[row, k] = min(second[row, k], second[row, k - 1] + rules[SHED] * step)
    return second


second_tips = compiled(_second_tips)


def _scores(rules: Array, road: Road, offer: Offer, far: Everywhere, known: int) -> Array:
    """Return, by gap and destination, what a plan with a tip there costs at least.

    A destination whose score is at least ``known`` may be left out: no plan with such costs less
    than that. Say a plan tips in several gaps at destinations that are left out. Put in their
    place the cheapest way to drop as much; what results costs W, at least what the bound says of
    each of these gaps. Where one left out is cheaper by e than what took its place, its score is
    that bound less e times the number of gaps; so all of them together save at most W - known.
    Scores above ``known`` are estimates.
    """
    jobs, start = road.jobs, road.start
    n, total = jobs.shape[0], far.place_of.shape[0]
    step = step_of(rules)
    found = np.full((n + 1, total), FAR, dtype=np.int64)
    costs, here = np.empty(rules[GRID] + 1, np.int64), np.empty(rules[GRID] + 1, np.int64)
    dear, rise, around = np.empty_like(costs), np.empty_like(costs), np.empty_like(costs)
    togo = completions(rules, road, offer)
    # what a second tip costs depends on what is aboard alone, not on the gap
    kinds = np.unique(togo.bits)
    seconds = second_tips(rules, far, kinds, step)
    flattest = np.full(len(kinds), FAR, dtype=np.int64)  # what a step costs there at least
    for row in range(len(kinds)):
        for k in range(1, rules[GRID] + 1):
            flattest[row] = min(flattest[row], seconds[row, k] // k)
    through = through_gaps(rules, road, togo)
    limit = known - road.late[0, 0]
    for gap in range(n + 1):
        fixed = detours(rules, road, far, gap)
        must = demanded(road.near, road.offsets[gap], road.offsets[gap + 1])
        around[:] = FAR
        for i in range(gap, -1, -1):
            bits = togo.bits[gap, i]
            if (start[START_KG] if i == 0 else jobs[i - 1, KG]) > 0:
                for q in range(rules[GRID] + 1):
                    around[q] = min(around[q], through[gap, i, q])
            if around.min() >= FAR or (i > 0 and togo.bits[gap, i - 1] == bits):
                continue  # what began earlier with the same bits aboard is looked at with it
            if must >= 0:
                tip_costs(rules, road, offer, gap, bits, costs, rise)
            else:
                costs[:] = togo.tips[gap, i][: rules[GRID] + 1]
            at = np.searchsorted(kinds, bits)
            second = seconds[at]
            for q in range(rules[GRID] + 1):
                spare = limit - around[q]
                if around[q] >= FAR:
                    dear[q] = -FAR
                elif costs[q] >= FAR or spare >= costs[q]:
                    dear[q] = spare if costs[q] < FAR else FAR
                else:
                    dear[q] = (spare + n * costs[q] + n) // (n + 1)
            most = dear.max()
            for d in range(total):
                if (bits & ~far.accepts[d]) != 0 or fixed[d] >= FAR:
                    continue
                # a second tip may cost less than nothing, by what rounded ways may be shorter
                if fixed[d] + min(far.price[d] * step, flattest[at], 0) * rules[GRID] >= most:
                    continue
                within = min(rules[GRID], max(far.room[d], 0) // step)
                best, slope = found[gap, d], far.price[d] * step
                gentle, looked = min(slope, flattest[at]), False
                for q in range(rules[GRID] + 1):
                    # most are too dear at a glance, or no better than with another amount
                    least = fixed[d] + gentle * (q if gentle < 0 else max(q - 1, 0))
                    score = around[q] + least
                    if costs[q] < FAR:
                        score -= n * max(costs[q] - least, 0)
                    if least >= dear[q]:
                        best = min(best, score)
                        continue
                    if costs[q] < FAR and score >= best:
                        continue
                    if not looked:
                        looked = True
                        for j in range(within + 1):
                            toll = toll_of(far.toll_kg, far.toll, d, j * step)
                            here[j] = fixed[d] + slope * j + toll
                    cost = FAR
                    for j in range(min(within, q) + 1):
                        cost = min(cost, here[j] + second[max(q - 1 - j, 0)])
                    score = around[q] + cost
                    if costs[q] >= FAR:  # nothing listed could take its place
                        score = -FAR
                    elif cost < costs[q]:
                        score -= n * (costs[q] - cost)
                    best = min(best, score)
                found[gap, d] = best
            around[:] = FAR
    return np.where(found < FAR, found + road.late[0, 0], found)


scores = compiled(_scores)


def _root(rules: Array, road: Road, offer: Offer) -> Array:
    """Return the bound on a vehicle's whole reduced cost that the shortlists give."""
    return least_of(road, completions(rules, road, offer))


root = compiled(_root)
