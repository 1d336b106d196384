"""A layer of clippings on a bed: depth, mass, area, browns, layers and days."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from service.agronomy.estimates.validity import within
from service.core.measures.units import LITRES_PER_M3, MM_PER_M

# Above zero, and beyond anything that is laid on a bed: the ends of the ranges below.
LEAST: Final = 1e-9
MOST: Final = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Browns:
    """Dry brown material to go with clippings.

    Parameters
    ----------
    volume_m3, mass_kg
        As heaped [m3], as weighed [kg].
    volume_litres
        The same volume [L].
    bags
        Whole bags of the size asked for; None if none was.
    """

    volume_m3: float
    mass_kg: float
    volume_litres: float
    bags: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer to be laid, counted in days from today.

    Parameters
    ----------
    day_offset
        Days from the first layer [d]; 0 is the first day.
    depth_mm, mass_kg
        Depth as laid [mm] and mass in it [kg].
    """

    day_offset: int
    depth_mm: float
    mass_kg: float


def depth_mm(*, mass_kg: float, area_m2: float, density_kg_per_m3: float) -> float:
    """Return how deep a mass lies when it is spread evenly [mm].

    Parameters
    ----------
    mass_kg
        Wet mass [kg], >= 0.
    area_m2
        Area of the bed [m2], > 0.
    density_kg_per_m3
        Wet mass per volume as laid [kg/m3], > 0.

    Raises
    ------
    OutsideValidity

    Notes
    -----
    depth = mass / (area x density).
    """
    within("mass_kg", mass_kg, low=0, high=MOST, unit="kg")
    within("area_m2", area_m2, low=LEAST, high=MOST, unit="m2")
    within("density_kg_per_m3", density_kg_per_m3, low=LEAST, high=MOST, unit="kg/m3")
    return MM_PER_M * mass_kg / (area_m2 * density_kg_per_m3)


def mass_at_depth_kg(*, depth_mm: float, area_m2: float, density_kg_per_m3: float) -> float:
    """Return the mass of an even layer [kg]; the inverse of `depth_mm`.

    Parameters
    ----------
    depth_mm
        Depth as laid [mm], >= 0.
    area_m2
        Area of the bed [m2], > 0.
    density_kg_per_m3
        Wet mass per volume as laid [kg/m3], > 0.

    Raises
    ------
    OutsideValidity
    """
    within("depth_mm", depth_mm, low=0, high=MOST, unit="mm")
    within("area_m2", area_m2, low=LEAST, high=MOST, unit="m2")
    within("density_kg_per_m3", density_kg_per_m3, low=LEAST, high=MOST, unit="kg/m3")
    return depth_mm / MM_PER_M * area_m2 * density_kg_per_m3


def area_covered_m2(*, mass_kg: float, depth_mm: float, density_kg_per_m3: float) -> float:
    """Return the area a mass covers at a depth [m2].

    Parameters
    ----------
    mass_kg
        Wet mass [kg], >= 0.
    depth_mm
        Depth as laid [mm], > 0.
    density_kg_per_m3
        Wet mass per volume as laid [kg/m3], > 0.

    Raises
    ------
    OutsideValidity
    """
    within("mass_kg", mass_kg, low=0, high=MOST, unit="kg")
    within("depth_mm", depth_mm, low=LEAST, high=MOST, unit="mm")
    within("density_kg_per_m3", density_kg_per_m3, low=LEAST, high=MOST, unit="kg/m3")
    return mass_kg / (depth_mm / MM_PER_M * density_kg_per_m3)


def browns_for(
    *,
    clippings_volume_m3: float,
    browns_per_green: float,
    browns_density_kg_per_m3: float,
    bag_litres: float | None = None,
) -> Browns:
    """Return the browns that go with a volume of clippings.

    Parameters
    ----------
    clippings_volume_m3
        Fresh clippings as heaped [m3], >= 0.
    browns_per_green
        Volumes of browns per volume of clippings [m3/m3], >= 0.
    browns_density_kg_per_m3
        Wet mass per volume of the browns [kg/m3], > 0.
    bag_litres
        Size of a bag [L], > 0; None if bags are not wanted.

    Raises
    ------
    OutsideValidity
    """
    within("clippings_volume_m3", clippings_volume_m3, low=0, high=MOST, unit="m3")
    within("browns_per_green", browns_per_green, low=0, high=MOST, unit="m3/m3")
    within("browns_density_kg_per_m3", browns_density_kg_per_m3, low=LEAST, high=MOST, unit="kg/m3")
    volume_m3 = clippings_volume_m3 * browns_per_green
    bags = None
    if bag_litres is not None:
        within("bag_litres", bag_litres, low=LEAST, high=MOST, unit="L")
        bags = math.ceil(volume_m3 * LITRES_PER_M3 / bag_litres - 1e-9)
    return Browns(
        volume_m3=volume_m3,
        mass_kg=volume_m3 * browns_density_kg_per_m3,
        volume_litres=volume_m3 * LITRES_PER_M3,
        bags=bags,
    )


def layers_for(
    *,
    mass_kg: float,
    area_m2: float,
    density_kg_per_m3: float,
    layer_depth_mm_max: float,
    rest_days: int,
) -> Sequence[Layer]:
    """Return the even layers a mass is laid in, none deeper than allowed.

    Parameters
    ----------
    mass_kg
        Wet mass to lay [kg], >= 0.
    area_m2
        Area of the bed [m2], > 0.
    density_kg_per_m3
        Wet mass per volume as laid [kg/m3], > 0.
    layer_depth_mm_max
        Deepest single layer [mm], > 0.
    rest_days
        Days between two layers [d], >= 0.

    Raises
    ------
    OutsideValidity
    """
    within("layer_depth_mm_max", layer_depth_mm_max, low=LEAST, high=MOST, unit="mm")
    within("rest_days", rest_days, low=0, high=MOST, unit="d")
    whole_mm = depth_mm(mass_kg=mass_kg, area_m2=area_m2, density_kg_per_m3=density_kg_per_m3)
    count = math.ceil(whole_mm / layer_depth_mm_max - 1e-9)
    return tuple(
        Layer(day_offset=number * rest_days, depth_mm=whole_mm / count, mass_kg=mass_kg / count)
        for number in range(count)
    )
