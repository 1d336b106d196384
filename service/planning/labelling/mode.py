# ruff: noqa: PLR0917 - machine code wants plain arguments
"""Whether plans are sought or bounded: the one place that asks. Compiled.

What holds in only one of the two stands in ``plan_rules`` or ``bound_rules``.
"""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import BOUND
from service.planning.labelling import bound_rules, plan_rules

load_up_in_bound, load_up_in_plan = bound_rules.load_up, plan_rules.load_up
tip_part_in_bound, tip_part_in_plan = bound_rules.tip_part, plan_rules.tip_part
variants_in_bound, variants_in_plan = bound_rules.variants, plan_rules.variants
barred_in_plan, drawn_in_plan = plan_rules.barred, plan_rules.drawn_first
stays_aboard_in_plan = plan_rules.stays_aboard
floor_in_bound, floor_in_plan = bound_rules.floor_at, plan_rules.floor_at
astray_in_bound, may_shed_in_bound = bound_rules.astray, bound_rules.may_shed


def _load_up(s: Array, jobs: Array, gap: int, rules: Array) -> Array:
    """Make room for a lot; false if in vain."""
    if rules[BOUND] == 1:
        return load_up_in_bound(s, jobs, gap, rules)
    return load_up_in_plan(s, jobs, gap, rules)


load_up = compiled(_load_up, inline=True)


def _barred(cur: Array, track: int, rules: Array) -> Array:
    """Return which credits may not be drawn on with a tip at a tracked destination."""
    return track if rules[BOUND] == 1 else barred_in_plan(cur, track)


barred = compiled(_barred, inline=True)


def _variants(cur: Array, deal: Array, near: Array, rules: Array) -> Array:
    """Return in how many ways a part may be tipped at a candidate."""
    if rules[BOUND] == 1:
        return variants_in_bound(deal, near, rules)
    return variants_in_plan(cur, deal, near, rules)


variants = compiled(_variants, inline=True)


def _tip_part(
    cur: Array, deal: Array, near: Array, rules: Array, variant: int, asking: int, s: Array
) -> Array:
    """Write into ``s`` what results from tipping a part; return its kilograms, 0 if nothing."""
    if rules[BOUND] == 1:
        return tip_part_in_bound(cur, deal, near, rules, asking, s)
    return tip_part_in_plan(cur, deal, near, rules, variant, asking, s)


tip_part = compiled(_tip_part, inline=True)


def _drawn_first(cur: Array, variant: int, rules: Array) -> Array:
    """Return what was drawn on credit before the part was tipped."""
    return np.int64(0) if rules[BOUND] == 1 else drawn_in_plan(cur, variant)


drawn_first = compiled(_drawn_first, inline=True)


def _floor_at(near: Array, row: int, rules: Array) -> Array:
    """Return the least that a tip at a candidate may be, also one that empties the body."""
    return floor_in_bound(near, row) if rules[BOUND] == 1 else floor_in_plan(near, row)


floor_at = compiled(_floor_at, inline=True)


def _may_shed(near: Array, row: int, rules: Array) -> Array:
    """Tell whether what a partial tip overfills may be paid when it is known."""
    return rules[BOUND] == 1 and may_shed_in_bound(near, row)


may_shed = compiled(_may_shed, inline=True)


def _astray(rules: Array, gaps: int) -> Array:
    """Return by how much a lighter label must be cheaper to make another one useless."""
    return astray_in_bound(rules, gaps) if rules[BOUND] == 1 else np.int64(0)


astray = compiled(_astray, inline=True)


def _stays_aboard(cur: Array, gap: int, final: int, rules: Array) -> Array:
    """Tell whether what is left here would be in what is tipped later; bounds need not ask."""
    return rules[BOUND] == 0 and stays_aboard_in_plan(cur, gap, final)


stays_aboard = compiled(_stays_aboard, inline=True)
