"""What a bed takes now: the smallest of the layer, the year's mass, the year's nitrogen."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.layers.bed_layer import LEAST, MOST, mass_at_depth_kg

M2_PER_HA: Final = 10_000.0
# A rolling year; an entry exactly this old still counts, so that a leap year cannot
# let one slip out a day early.
YEAR_DAYS: Final = 365


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
    OutsideValidity
    """
    within("nitrogen_kg", nitrogen_kg, low=0, high=MOST, unit="kg")
    within("area_m2", area_m2, low=LEAST, high=MOST, unit="m2")
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
    OutsideValidity
    """
    within("window_days", window_days, low=LEAST, high=MOST, unit="d")
    inside = []
    for entry in entries:
        within("age_days", entry.age_days, low=0, high=MOST, unit="d")
        within("mass_kg_per_m2", entry.mass_kg_per_m2, low=0, high=MOST, unit="kg/m2")
        within("nitrogen_kg_per_ha", entry.nitrogen_kg_per_ha, low=0, high=MOST, unit="kg/ha")
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
    OutsideValidity

    Notes
    -----
    The smallest of the limits; of equal ones the first in the order named.
    """
    within("area_m2", area_m2, low=LEAST, high=MOST, unit="m2")
    within("nitrogen_kg_per_kg", nitrogen_kg_per_kg, low=0, high=MOST, unit="kg/kg")
    within("yearly_mass_kg_per_m2_max", yearly_mass_kg_per_m2_max, low=0, high=MOST, unit="kg/m2")
    within(
        "yearly_nitrogen_kg_per_ha_max",
        yearly_nitrogen_kg_per_ha_max,
        low=0,
        high=MOST,
        unit="kg/ha",
    )
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
        within("bed_limit_kg_per_m2_year", bed_limit_kg_per_m2_year, low=0, high=MOST, unit="kg/m2")
        limits.append(("yearly_bed_limit", _mass_left_kg(bed_limit_kg_per_m2_year, laid, area_m2)))
    binding, mass_kg = min(limits, key=lambda limit: limit[1])
    return BedRoom(mass_kg=mass_kg, binding=binding, mass_kg_by_limit=tuple(limits))


def _mass_left_kg(limit_kg_per_m2: float, laid: LedgerSums, area_m2: float) -> float:
    return max(limit_kg_per_m2 - laid.mass_kg_per_m2, 0.0) * area_m2
