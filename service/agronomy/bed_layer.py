"""A layer of clippings on a bed: depth, mass, area, room, browns, layers and days."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from service.core.errors import Refusal

MM_PER_M: Final = 1000.0
M2_PER_HA: Final = 10_000.0
LITRES_PER_M3: Final = 1000.0
# A rolling year; an entry exactly this old still counts, so that a leap year cannot
# let one slip out a day early.
YEAR_DAYS: Final = 365


class NotAboveZero(Refusal):
    """A quantity that must be above zero, and finite, is not."""

    code = "not_above_zero"
    sentence = "{name} is {value}; it must be above zero and finite."


class BelowZero(Refusal):
    """A quantity that must not be negative, and must be finite, is."""

    code = "below_zero"
    sentence = "{name} is {value}; it must be zero or more, and finite."


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerEntry:
    """What was laid on a bed, some days ago.

    Parameters
    ----------
    age_days
        Days since it was laid [d], >= 0.
    mass_kg_per_m2
        Wet mass per area [kg/m2], >= 0.
    nitrogen_kg_per_ha
        Nitrogen per area [kg/ha], >= 0.
    """

    age_days: float
    mass_kg_per_m2: float
    nitrogen_kg_per_ha: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerSums:
    """What lies in the window: wet mass per area and nitrogen per area."""

    mass_kg_per_m2: float
    nitrogen_kg_per_ha: float
    entries: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BedRoom:
    """What a bed takes now, and which limit says so.

    Parameters
    ----------
    mass_kg
        Wet mass the bed takes now [kg], >= 0.
    binding
        The limit that is smallest: "layer_depth", "yearly_mass",
        "yearly_nitrogen" or "yearly_bed_limit".
    mass_kg_by_limit
        What each limit alone would allow [kg], in fixed order.
    """

    mass_kg: float
    binding: str
    mass_kg_by_limit: tuple[tuple[str, float], ...]


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
    NotAboveZero, BelowZero

    Notes
    -----
    depth = mass / (area x density).
    """
    _not_below_zero("mass_kg", mass_kg)
    _above_zero("area_m2", area_m2)
    _above_zero("density_kg_per_m3", density_kg_per_m3)
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
    NotAboveZero, BelowZero
    """
    _not_below_zero("depth_mm", depth_mm)
    _above_zero("area_m2", area_m2)
    _above_zero("density_kg_per_m3", density_kg_per_m3)
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
    NotAboveZero, BelowZero
    """
    _not_below_zero("mass_kg", mass_kg)
    _above_zero("depth_mm", depth_mm)
    _above_zero("density_kg_per_m3", density_kg_per_m3)
    return mass_kg / (depth_mm / MM_PER_M * density_kg_per_m3)


def nitrogen_kg_per_ha(*, nitrogen_kg: float, area_m2: float) -> float:
    """Return nitrogen per hectare [kg/ha].

    Parameters
    ----------
    nitrogen_kg
        Nitrogen applied [kg], >= 0.
    area_m2
        Area it lies on [m2], > 0.

    Raises
    ------
    NotAboveZero, BelowZero
    """
    _not_below_zero("nitrogen_kg", nitrogen_kg)
    _above_zero("area_m2", area_m2)
    return nitrogen_kg / area_m2 * M2_PER_HA


def ledger_sums(entries: Iterable[LedgerEntry], *, window_days: float = YEAR_DAYS) -> LedgerSums:
    """Return what was laid within the last so many days.

    Parameters
    ----------
    entries
        What was laid, each with its age.
    window_days
        Length of the rolling window [d], > 0; an entry exactly that old counts.

    Raises
    ------
    NotAboveZero, BelowZero
    """
    _above_zero("window_days", window_days)
    inside = []
    for entry in entries:
        _not_below_zero("age_days", entry.age_days)
        _not_below_zero("mass_kg_per_m2", entry.mass_kg_per_m2)
        _not_below_zero("nitrogen_kg_per_ha", entry.nitrogen_kg_per_ha)
        if entry.age_days <= window_days:
            inside.append(entry)
    return LedgerSums(
        mass_kg_per_m2=math.fsum(entry.mass_kg_per_m2 for entry in inside),
        nitrogen_kg_per_ha=math.fsum(entry.nitrogen_kg_per_ha for entry in inside),
        entries=len(inside),
    )


def bed_room(
    *,
    area_m2: float,
    density_kg_per_m3: float,
    nitrogen_kg_per_kg: float,
    layer_depth_mm_max: float,
    yearly_mass_kg_per_m2_max: float,
    yearly_nitrogen_kg_per_ha_max: float,
    laid: LedgerSums,
    bed_limit_kg_per_m2_year: float | None = None,
) -> BedRoom:
    """Return the wet mass a bed takes now, and the limit that binds.

    Parameters
    ----------
    area_m2
        Area of the bed [m2], > 0.
    density_kg_per_m3
        Wet mass per volume as laid [kg/m3], > 0; the low end is the safe one.
    nitrogen_kg_per_kg
        Nitrogen per wet mass [kg/kg], >= 0; the high end is the safe one.
    layer_depth_mm_max
        Deepest fresh layer [mm], >= 0.
    yearly_mass_kg_per_m2_max
        Most wet mass in a rolling year [kg/m2], >= 0.
    yearly_nitrogen_kg_per_ha_max
        Most nitrogen in a rolling year [kg/ha], >= 0.
    laid
        What was laid in the last year.
    bed_limit_kg_per_m2_year
        The client's own yearly limit [kg/m2]; None if none is set.

    Raises
    ------
    NotAboveZero, BelowZero

    Notes
    -----
    The smallest of the limits; of equal ones the first in the order named.
    """
    _above_zero("area_m2", area_m2)
    _not_below_zero("nitrogen_kg_per_kg", nitrogen_kg_per_kg)
    _not_below_zero("yearly_mass_kg_per_m2_max", yearly_mass_kg_per_m2_max)
    _not_below_zero("yearly_nitrogen_kg_per_ha_max", yearly_nitrogen_kg_per_ha_max)
    nitrogen_left_kg = (
        max(yearly_nitrogen_kg_per_ha_max - laid.nitrogen_kg_per_ha, 0.0) * area_m2 / M2_PER_HA
    )
    limits = [
        (
            "layer_depth",
            mass_at_depth_kg(
                depth_mm=layer_depth_mm_max, area_m2=area_m2, density_kg_per_m3=density_kg_per_m3
            ),
        ),
        ("yearly_mass", _mass_left_kg(yearly_mass_kg_per_m2_max, laid, area_m2)),
    ]
    if nitrogen_kg_per_kg > 0:
        limits.append(("yearly_nitrogen", nitrogen_left_kg / nitrogen_kg_per_kg))
    if bed_limit_kg_per_m2_year is not None:
        _not_below_zero("bed_limit_kg_per_m2_year", bed_limit_kg_per_m2_year)
        limits.append(("yearly_bed_limit", _mass_left_kg(bed_limit_kg_per_m2_year, laid, area_m2)))
    binding, mass_kg = min(limits, key=lambda limit: limit[1])
    return BedRoom(mass_kg=mass_kg, binding=binding, mass_kg_by_limit=tuple(limits))


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
    NotAboveZero, BelowZero
    """
    _not_below_zero("clippings_volume_m3", clippings_volume_m3)
    _not_below_zero("browns_per_green", browns_per_green)
    _above_zero("browns_density_kg_per_m3", browns_density_kg_per_m3)
    volume_m3 = clippings_volume_m3 * browns_per_green
    bags = None
    if bag_litres is not None:
        _above_zero("bag_litres", bag_litres)
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
    NotAboveZero, BelowZero
    """
    _above_zero("layer_depth_mm_max", layer_depth_mm_max)
    _not_below_zero("rest_days", rest_days)
    whole_mm = depth_mm(mass_kg=mass_kg, area_m2=area_m2, density_kg_per_m3=density_kg_per_m3)
    count = math.ceil(whole_mm / layer_depth_mm_max - 1e-9)
    return tuple(
        Layer(day_offset=number * rest_days, depth_mm=whole_mm / count, mass_kg=mass_kg / count)
        for number in range(count)
    )


def _mass_left_kg(limit_kg_per_m2: float, laid: LedgerSums, area_m2: float) -> float:
    return max(limit_kg_per_m2 - laid.mass_kg_per_m2, 0.0) * area_m2


def _above_zero(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise NotAboveZero(name=name, value=value)


def _not_below_zero(name: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise BelowZero(name=name, value=value)
