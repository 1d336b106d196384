"""From volume to mass and back: bodies, bags, buckets."""

from typing import Final

from service.agronomy.estimates.uncertainty import product
from service.agronomy.estimates.validity import within
from service.core.estimates import Estimate, exactly

LITRES_PER_M3: Final = 1000.0


def mass_of_volume(volume_m3: float | Estimate, bulk_density: Estimate) -> Estimate:
    """Return the wet mass of a volume [kg].

    Parameters
    ----------
    volume_m3
        Volume as packed [m3], > 0, measured or estimated.
    bulk_density
        Wet mass per volume as packed [kg/m3].

    Raises
    ------
    OutsideValidity, IntervalReachesZero

    Notes
    -----
    mass = volume x bulk density, taken as independent.
    """
    volume = _volume(volume_m3)
    return product([(volume, 1), (bulk_density, 1)], unit="kg", basis="volume x bulk density")


def volume_of_mass(mass_kg: float | Estimate, bulk_density: Estimate) -> Estimate:
    """Return the volume a wet mass takes [m3]; the inverse of `mass_of_volume`.

    Parameters
    ----------
    mass_kg
        Wet mass [kg], > 0, weighed or estimated.
    bulk_density
        Wet mass per volume as packed [kg/m3].

    Raises
    ------
    OutsideValidity, IntervalReachesZero
    """
    if isinstance(mass_kg, Estimate):
        mass = mass_kg
    else:
        within("mass_kg", mass_kg, low=1e-6, high=1e7, unit="kg")
        mass = exactly(mass_kg, unit="kg", basis="as weighed")
    return product([(mass, 1), (bulk_density, -1)], unit="m3", basis="mass / bulk density")


def bucket_density_kg_per_m3(
    *, full_mass_kg: float, empty_mass_kg: float, bucket_litres: float
) -> float:
    """Return the bulk density of a filled bucket [kg/m3].

    Parameters
    ----------
    full_mass_kg
        Bucket with the material [kg], at least the empty one.
    empty_mass_kg
        Bucket alone [kg], 0 to 1,000.
    bucket_litres
        Volume filled to the mark [L], 0.1 to 2,000.

    Raises
    ------
    OutsideValidity

    Notes
    -----
    (full - empty) / volume. How it is filled decides: dropped ten times after each
    third gives the density of a heap, poured in the density of a fresh bag.

    References
    ----------
    [wsu-bulk-density] the procedure; [cooperband-2002] an example.
    """
    within("empty_mass_kg", empty_mass_kg, low=0, high=1000, unit="kg")
    within("full_mass_kg", full_mass_kg, low=empty_mass_kg, high=1e5, unit="kg")
    within("bucket_litres", bucket_litres, low=0.1, high=2000, unit="L")
    return (full_mass_kg - empty_mass_kg) / bucket_litres * LITRES_PER_M3


def dry_bulk_density_kg_per_m3(*, bulk_density_kg_per_m3: float, moisture: float) -> float:
    """Return the dry matter in a volume [kg/m3].

    Parameters
    ----------
    bulk_density_kg_per_m3
        Wet mass per volume [kg/m3], 5 to 1,500.
    moisture
        Water per wet mass [kg/kg], 0 to 1.

    Raises
    ------
    OutsideValidity

    Notes
    -----
    bulk density x (1 - moisture). Fine clippings of greens hold about 60 g of dry
    matter a litre [woods-clipping-volume].
    """
    within("bulk_density_kg_per_m3", bulk_density_kg_per_m3, low=5, high=1500, unit="kg/m3")
    within("moisture", moisture, low=0, high=1, unit="1")
    return bulk_density_kg_per_m3 * (1 - moisture)


def _volume(volume_m3: float | Estimate) -> Estimate:
    if isinstance(volume_m3, Estimate):
        return volume_m3
    within("volume_m3", volume_m3, low=1e-6, high=1e5, unit="m3")
    return exactly(volume_m3, unit="m3", basis="as measured")
