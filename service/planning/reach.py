# ruff: noqa: C901, PLR0912, PLR0915 - machine code wants flat loops
"""Which of all destinations could be in a better tip plan than the best one known. Compiled."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.completion import completions, lateness
from service.planning.gap_costs import demanded, tip_costs
from service.planning.loads import least_of, step_of
from service.planning.roads import (
    DRIVE,
    FAR,
    FIRST_S,
    GRID,
    KG,
    ROUNDING_M,
    ROUNDING_S,
    SERVICE,
    SHED,
    START_KG,
    START_S,
    TIPS,
    Offer,
    Road,
)
from service.planning.through import through_gaps
from service.planning.toll_steps import toll_of
from service.planning.ways import way


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
    slopes: Array  # price of a second of delay by gap, -1 if lateness counts on the earliest day


def _detours(rules: Array, road: Road, far: Everywhere, gap: int, clock: int) -> Array:
    """Return the least cost of passing a gap by each destination, before any kilogram."""
    total = far.place_of.shape[0]
    fixed = np.empty(total, dtype=np.int64)
    base = lateness(rules, road.jobs, road.legs, gap, clock)
    a, b = far.places[gap], far.places[gap + 1]
    for d in range(total):
        here = far.place_of[d]
        m1, s1 = way(far.mode, far.points, far.metres, far.seconds, far.factors, a, here)
        m2, s2 = way(far.mode, far.points, far.metres, far.seconds, far.factors, here, b)
        fixed[d] = (m1 + m2) * rules[DRIVE] + far.stop[d]
        if clock + s1 > far.close_s[d]:
            fixed[d] = FAR
            continue
        delay = max(s1 + s2 + far.tip_s[d] - road.legs[gap, 1] - ROUNDING_S, 0)
        if far.slopes[gap] >= 0:
            fixed[d] += far.slopes[gap] * delay
        else:
            fixed[d] += lateness(rules, road.jobs, road.legs, gap, clock + delay) - base
    return fixed


detours = compiled(_detours, inline=True)


def _second_tip(rules: Array, far: Everywhere, bits: int, step: int) -> Array:
    """Return the least cost of dropping k steps at a second tip anywhere, at no detour.

    Rounded ways may even be shorter with it.
    """
    last, shorter = rules[GRID], ROUNDING_M * rules[DRIVE]
    second = np.full(last + 1, FAR, dtype=np.int64)
    second[0] = 0
    for d in range(far.place_of.shape[0]):
        if (bits & ~far.accepts[d]) == 0 and far.room[d] > 0 and rules[TIPS] > 1:
            within = min(last, far.room[d] // step)
            for k in range(1, within + 1):
                cost = far.stop[d] - shorter + far.price[d] * step * k
                second[k] = min(second[k], cost + toll_of(far.toll_kg, far.toll, d, k * step))
            if within < last:
                cost = far.stop[d] - shorter + far.price[d] * far.room[d]
                cost += toll_of(far.toll_kg, far.toll, d, within * step)
                cost += rules[SHED] * ((within + 1) * step - far.room[d])
                second[within + 1] = min(second[within + 1], cost)
    for k in range(1, last + 1):
        second[k] = min(second[k], second[k - 1] + rules[SHED] * step)
    return second


second_tip = compiled(_second_tip, inline=True)


def _scores(rules: Array, road: Road, offer: Offer, far: Everywhere, known: int) -> Array:
    """Return, by gap and destination, what a plan with a tip there costs at least.

    A destination whose score is at least ``known`` may be left out: no plan with such costs less
    than that. Say a plan tips in several gaps at destinations that are left out. Put in their
    place the cheapest way to drop as much; what results costs W, at least what the bound says of
    each of these gaps. Where one left out is cheaper by e than what took its place, its score is
    that bound less e times the number of gaps; so all of them together save at most W - known.
    Scores above ``known`` may be left FAR.
    """
    jobs, start = road.jobs, road.start
    n, total = jobs.shape[0], far.place_of.shape[0]
    step = step_of(rules)
    found = np.full((n + 1, total), FAR, dtype=np.int64)
    costs, here = np.empty(rules[GRID] + 1, np.int64), np.empty(rules[GRID] + 1, np.int64)
    dear, rise, around = np.empty_like(costs), np.empty_like(costs), np.empty_like(costs)
    # what a second tip costs depends on what is aboard alone, not on the gap
    of_bits, known_bits = np.empty((n + 1) * (n + 2), dtype=np.int64), 0
    seconds = np.empty((len(of_bits), rules[GRID] + 1), dtype=np.int64)
    togo = completions(rules, road, offer)
    through = through_gaps(rules, road, togo)
    limit = known - road.late[0, 0]
    clock = start[START_S]
    for gap in range(n + 1):
        fixed = detours(rules, road, far, gap, clock)
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
            at = 0
            while at < known_bits and of_bits[at] != bits:
                at += 1
            if at == known_bits:
                of_bits[at], seconds[at] = bits, second_tip(rules, far, bits, step)
                known_bits += 1
            second = seconds[at]
            for q in range(rules[GRID] + 1):
                spare = limit - around[q]
                if around[q] >= FAR:
                    dear[q] = -FAR
                elif costs[q] >= FAR or spare >= costs[q]:
                    dear[q] = spare if costs[q] < FAR else FAR
                else:
                    dear[q] = (spare + n * costs[q]) // (n + 1)
            most = dear.max()
            for d in range(total):
                if (bits & ~far.accepts[d]) != 0 or fixed[d] >= min(most, FAR):
                    continue
                within = min(rules[GRID], max(far.room[d], 0) // step)
                best, slope = found[gap, d], far.price[d] * step
                for j in range(within + 1):
                    here[j] = fixed[d] + slope * j + toll_of(far.toll_kg, far.toll, d, j * step)
                for q in range(rules[GRID] + 1):
                    if fixed[d] >= dear[q]:
                        continue
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
        if gap < n:
            clock = max(clock + road.legs[gap, 1], jobs[gap, FIRST_S]) + jobs[gap, SERVICE]
    return np.where(found < FAR, found + road.late[0, 0], found)


scores = compiled(_scores)


def _root(rules: Array, road: Road, offer: Offer) -> Array:
    """Return the bound on a vehicle's whole reduced cost that the shortlists give."""
    return least_of(road, completions(rules, road, offer))


root = compiled(_root)
