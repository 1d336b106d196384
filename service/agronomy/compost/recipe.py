"""How much of which browns to buy: the least that makes a mix compost well.

A recipe may aim at one point (a moisture and a C:N, met exactly by two materials)
or at ranges (met by the least mass of any number of browns and, if wanted,
water).
"""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.agronomy.compost.mix import WATER, Ingredient, Mix, Part, mix_of
from service.core.errors import Refusal

# Mass below which an answer is nothing: a solver's rounding, not a scoop of leaves.
_NOTHING_SHARE: Final = 1e-9
# Determinant below which two materials, or two ranges, are one and the same.
_SINGULAR: Final = 1e-15


class MixGoalsOutOfReach(Refusal):
    """No amounts of these materials meet the goals; the goals that block are named."""

    code = "mix_goals_out_of_reach"
    sentence = (
        "No amounts of {browns} bring this mix into the ranges asked for. What blocks: {blocking}."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MixGoals:
    """The ranges a mix must end in.

    Parameters
    ----------
    moisture_min, moisture_max
        Water per wet mass [kg/kg], 0 to 1.
    carbon_to_nitrogen_min, carbon_to_nitrogen_max
        Carbon per nitrogen [kg/kg], > 0.
    """

    moisture_min: float
    moisture_max: float
    carbon_to_nitrogen_min: float
    carbon_to_nitrogen_max: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """What to add to a mix, and what comes out.

    Parameters
    ----------
    mass_kg
        Mass of each material to add, by its name [kg].
    water_kg
        Water to add [kg].
    mix
        The whole mix with what was added.
    """

    mass_kg: Mapping[str, float]
    water_kg: float
    mix: Mix


def least_browns(
    base: Sequence[Part],
    browns: Sequence[Ingredient],
    goals: MixGoals,
    *,
    water_allowed: bool = True,
) -> Recipe:
    """Return the least mass of browns that brings a mix into the ranges.

    Parameters
    ----------
    base
        What is in the mix already.
    browns
        The materials at hand, any number of them.
    goals
        Ranges of moisture and C:N.
    water_allowed
        Whether water may be added; it is not counted as browns.

    Raises
    ------
    MixGoalsOutOfReach
        If there is no such mix; names the goals without any one of which there
        would be one, or the pair of them.
    MixEmpty

    Notes
    -----
    Both ranges are linear in the masses, so the least is a linear programme with
    four rows; all its corners are tried. Of two browns that do as well the earlier
    is taken.
    """
    start = mix_of(base)
    added = [*browns, *([WATER] if water_allowed else [])]
    masses_kg = _solve(start, added, goals)
    if masses_kg is None:
        raise MixGoalsOutOfReach(
            browns=", ".join(brown.name for brown in browns) or "no browns",
            blocking=", ".join(_blocking(start, added, goals)),
        )
    return _recipe(base, added, masses_kg)


def _recipe(
    base: Sequence[Part], added: Sequence[Ingredient], masses_kg: Sequence[float]
) -> Recipe:
    least_kg = _NOTHING_SHARE * sum(part.mass_kg for part in base)
    parts = [
        Part(ingredient=ingredient, mass_kg=mass_kg)
        for ingredient, mass_kg in zip(added, masses_kg, strict=True)
        if mass_kg > least_kg
    ]
    return Recipe(
        mass_kg=MappingProxyType(
            {part.ingredient.name: part.mass_kg for part in parts if part.ingredient != WATER}
        ),
        water_kg=sum(part.mass_kg for part in parts if part.ingredient == WATER),
        mix=mix_of([*base, *parts]),
    )


def _blocking(start: Mix, added: Sequence[Ingredient], goals: MixGoals) -> list[str]:
    """Return the names of the goals without which, one at a time, a mix exists."""
    relaxed = {
        "the driest moisture allowed": replace(goals, moisture_min=0.0),
        "the wettest moisture allowed": replace(goals, moisture_max=1.0),
        "the lowest C:N allowed": replace(goals, carbon_to_nitrogen_min=1e-6),
        "the highest C:N allowed": replace(goals, carbon_to_nitrogen_max=1e6),
    }
    alone = [name for name, goal in relaxed.items() if _solve(start, added, goal) is not None]
    return alone or ["moisture and C:N both"]


def _solve(start: Mix, added: Sequence[Ingredient], goals: MixGoals) -> list[float] | None:
    """Return the least masses in the ranges, or None if there are none.

    The least of a linear programme lies in a corner: as many materials above zero
    as ranges met exactly. With four ranges there are few corners; all are tried.
    """
    slopes, constants = _ranges(start, added, goals)
    slack = 1e-9 * start.mass_kg
    # Water is all but free; of two browns that do as well the earlier is taken.
    cost = np.array([1e-6 if i == WATER else 1 + 1e-9 * n for n, i in enumerate(added)])
    best: tuple[float, list[float]] | None = None
    for size in range(min(len(added), len(constants)) + 1):
        for used in itertools.combinations(range(len(added)), size):
            for tight in itertools.combinations(range(len(constants)), size):
                masses_kg = _corner(slopes, constants, used, tight)
                if masses_kg is None or masses_kg.min(initial=0.0) < -slack:
                    continue
                if (slopes @ masses_kg + constants > slack).any():
                    continue
                total = float(cost @ masses_kg)
                if best is None or total < best[0] - slack * 1e-3:
                    best = (total, [max(float(mass), 0.0) for mass in masses_kg])
    return None if best is None else best[1]


def _corner(
    slopes: NDArray[np.float64],
    constants: NDArray[np.float64],
    used: tuple[int, ...],
    tight: tuple[int, ...],
) -> NDArray[np.float64] | None:
    """Return the masses where some materials meet some ranges exactly, if they do."""
    masses_kg = np.zeros(slopes.shape[1])
    if used:
        square = slopes[np.ix_(tight, used)]
        if abs(np.linalg.det(square)) < _SINGULAR:
            return None
        masses_kg[list(used)] = np.linalg.solve(square, -constants[list(tight)])
    return masses_kg


def _ranges(
    start: Mix, added: Sequence[Ingredient], goals: MixGoals
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the four ranges as slopes x masses + constants <= 0."""
    moisture = np.array([ingredient.moisture for ingredient in added])
    carbon = np.array([ingredient.carbon_per_wet_mass for ingredient in added])
    nitrogen = np.array([ingredient.nitrogen_per_wet_mass for ingredient in added])
    low, high = goals.carbon_to_nitrogen_min, goals.carbon_to_nitrogen_max
    # C:N is scaled to the size of a moisture, so that one slack serves all four.
    slopes = np.array(
        [
            moisture - goals.moisture_max,
            goals.moisture_min - moisture,
            nitrogen - carbon / low,
            carbon / high - nitrogen,
        ]
    )
    constants = np.array(
        [
            start.water_kg - goals.moisture_max * start.mass_kg,
            goals.moisture_min * start.mass_kg - start.water_kg,
            start.nitrogen_kg - start.carbon_kg / low,
            start.carbon_kg / high - start.nitrogen_kg,
        ]
    )
    return slopes, constants
