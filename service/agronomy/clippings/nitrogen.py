"""Nitrogen laid on a bed, and how much of it plants find in the first year."""

from typing import Final

from service.agronomy.estimates.uncertainty import complement, product
from service.agronomy.estimates.validity import within
from service.core.estimates import Estimate, exactly

M2_PER_HA: Final = 10_000.0
# Crude protein is 6.25 times the nitrogen found, by definition; [turgeon-1979] uses it so.
PROTEIN_PER_NITROGEN: Final = 6.25
# The line of [pnw-636]: nothing at 1.5 % nitrogen, 35 lb a short ton of dry matter at
# 3.5 %; one pound a short ton is half a gram a kilogram.
_NITROGEN_FRACTION_NONE: Final = 0.015
_NITROGEN_FRACTION_HIGH: Final = 0.035
_AVAILABLE_AT_HIGH: Final = 35.0 * 0.5 / 1000.0


def nitrogen_fraction_from_protein(crude_protein_fraction: float) -> float:
    """Return nitrogen per dry matter from crude protein [kg/kg].

    Parameters
    ----------
    crude_protein_fraction
        Crude protein per dry matter [kg/kg], 0 to 1.

    Raises
    ------
    OutsideValidity

    Notes
    -----
    nitrogen = crude protein / 6.25.

    References
    ----------
    [turgeon-1979] gives clippings as crude protein.
    """
    within("crude_protein_fraction", crude_protein_fraction, low=0, high=1, unit="1")
    return crude_protein_fraction / PROTEIN_PER_NITROGEN


def nitrogen_per_wet_mass(*, moisture: Estimate, nitrogen_fraction: Estimate) -> Estimate:
    """Return nitrogen per wet mass [kg/kg].

    Parameters
    ----------
    moisture
        Water per wet mass [1], below 1.
    nitrogen_fraction
        Nitrogen per dry matter [1].

    Raises
    ------
    FractionOutOfRange, IntervalReachesZero

    Notes
    -----
    (1 - moisture) x nitrogen fraction. For a weighed load this is the factor: its
    mass has no spread left, its water has.
    """
    dry_fraction = complement(moisture, basis="dry matter per wet mass")
    return product(
        [(dry_fraction, 1), (nitrogen_fraction, 1)],
        unit="1",
        basis="(1 - moisture) x nitrogen fraction",
    )


def nitrogen_on_bed_kg_per_ha(nitrogen_kg: float | Estimate, *, area_m2: float) -> Estimate:
    """Return the nitrogen laid on a bed per hectare [kg/ha].

    Parameters
    ----------
    nitrogen_kg
        Nitrogen in what is laid [kg], > 0.
    area_m2
        Area of the bed [m2], 0.01 to 10,000,000.

    Raises
    ------
    OutsideValidity
    """
    within("area_m2", area_m2, low=0.01, high=1e7, unit="m2")
    laid = (
        nitrogen_kg
        if isinstance(nitrogen_kg, Estimate)
        else exactly(nitrogen_kg, unit="kg", basis="as computed")
    )
    return laid.scaled(M2_PER_HA / area_m2, unit="kg/ha", basis="nitrogen / area")


def available_nitrogen_kg(nitrogen_kg: Estimate, *, available_fraction: Estimate) -> Estimate:
    """Return the nitrogen plants find in the first season [kg].

    Parameters
    ----------
    nitrogen_kg
        Nitrogen laid or dug in [kg].
    available_fraction
        Share that becomes plant-available [1], above 0 and up to 1.

    Raises
    ------
    IntervalReachesZero

    Notes
    -----
    nitrogen x available fraction. The published share is for clippings mixed into
    soil; of a layer left on top part goes off as ammonia and less is found.

    References
    ----------
    [sullivan-2004] 21 to 37 % of total nitrogen for grass clippings alone.
    """
    return product(
        [(nitrogen_kg, 1), (available_fraction, 1)],
        unit="kg",
        basis="nitrogen x share available in the first season",
    )


def plant_available_nitrogen_per_dry_matter(nitrogen_fraction: float) -> float:
    """Return the nitrogen fresh plant matter gives once dug in [kg/kg dry matter].

    Parameters
    ----------
    nitrogen_fraction
        Nitrogen per dry matter [kg/kg], 0.01 to 0.04.

    Raises
    ------
    OutsideValidity
        Beyond the data the line was drawn through.

    Notes
    -----
    A straight line from nothing at 1.5 % to 17.5 g/kg (35 lb a short ton) at 3.5 %,
    carried on to 4 %; nothing below 1.5 %, where straw-like matter takes nitrogen
    from the soil instead.

    References
    ----------
    [pnw-636] highlights: 1.5 %, 3.5 %, 35 lb PAN/ton, linear between.
    """
    within("nitrogen_fraction", nitrogen_fraction, low=0.01, high=0.04, unit="1")
    share = (nitrogen_fraction - _NITROGEN_FRACTION_NONE) / (
        _NITROGEN_FRACTION_HIGH - _NITROGEN_FRACTION_NONE
    )
    return max(share, 0.0) * _AVAILABLE_AT_HIGH


def nitrogen_returned_kg_per_m2(*, dry_matter_kg_per_m2: float, nitrogen_fraction: float) -> float:
    """Return the nitrogen that clippings left on a lawn give back [kg/m2].

    Parameters
    ----------
    dry_matter_kg_per_m2
        Dry matter left over a time [kg/m2], 0 to 3.
    nitrogen_fraction
        Nitrogen per dry matter [kg/kg], 0 to 0.1.

    Raises
    ------
    OutsideValidity

    References
    ----------
    [liu-hull-2006] 111 to 260 kg/ha a year in the clippings of lawns.
    """
    within("dry_matter_kg_per_m2", dry_matter_kg_per_m2, low=0, high=3, unit="kg/m2")
    within("nitrogen_fraction", nitrogen_fraction, low=0, high=0.1, unit="1")
    return dry_matter_kg_per_m2 * nitrogen_fraction
