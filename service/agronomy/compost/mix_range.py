"""How sure the moisture and the C:N of a mix are, given how sure its materials are.

The likely values are the mass balance of `service.agronomy.compost.mix`; the
spread around them follows to first order in the logarithms: each property of each
material counts by the share of the mix that hangs on it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.agronomy.compost.mix import Ingredient, Part, mix_of
from service.agronomy.estimates.uncertainty import complement, product
from service.agronomy.estimates.validity import within
from service.core.estimates import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialPart:
    """A mass of a material whose properties are known as ranges.

    Parameters
    ----------
    name
        What it is.
    mass_kg
        Mass as delivered [kg], > 0.
    moisture
        Water per wet mass [1], below 1.
    nitrogen_fraction
        Nitrogen per dry matter [1], above 0; its likely value counts.
    carbon_to_nitrogen
        Carbon per nitrogen [1], above 0.
    bulk_density
        Wet mass per volume as heaped [kg/m3], above 0.
    """

    name: str
    mass_kg: float
    moisture: Estimate
    nitrogen_fraction: Estimate
    carbon_to_nitrogen: Estimate
    bulk_density: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class MixRange:
    """A mix with its spread.

    Parameters
    ----------
    moisture
        Water per wet mass [1].
    carbon_to_nitrogen
        Carbon per nitrogen [1].
    volume_m3
        Sum of the volumes as heaped [m3].
    """

    moisture: Estimate
    carbon_to_nitrogen: Estimate
    volume_m3: Estimate


def mix_range(parts: Sequence[MaterialPart]) -> MixRange:
    """Return moisture, C:N and volume of a mix, low, likely and high.

    Parameters
    ----------
    parts
        Materials with their masses.

    Raises
    ------
    MixEmpty, OutsideValidity, CarbonImpossible, IntervalReachesZero,
    FractionOutOfRange

    Notes
    -----
    Plants hold much the same carbon whatever their nitrogen, so the carbon of each
    material stays at its likely value and its nitrogen follows from its C:N: drawn
    apart, the two would claim more carbon than there is. With d the dry matter per
    wet mass and r the C:N of a material, and its shares of the mix's dry matter
    (s), nitrogen (p), carbon (c) and volume (v): d ln D = sum s d ln d;
    d ln R = sum (c - p) d ln d + sum p d ln r; d ln V = -sum v d ln(density). Within
    a few per cent of a Monte Carlo run (see the tests).

    References
    ----------
    [cwmi-cn-ratio] the balance; [cornish-fisher-1938] the percentiles.
    """
    for part in parts:
        within("mass_kg", part.mass_kg, low=1e-6, high=1e9, unit="kg")
    likely = mix_of([_likely(part) for part in parts])
    dry = [complement(part.moisture, basis=f"dry matter of {part.name}") for part in parts]
    dry_kg = [part.mass_kg * d.likely for part, d in zip(parts, dry, strict=True)]
    nitrogen_kg = [m * part.nitrogen_fraction.likely for part, m in zip(parts, dry_kg, strict=True)]
    carbon_kg = [
        n * part.carbon_to_nitrogen.likely for part, n in zip(parts, nitrogen_kg, strict=True)
    ]
    volume_m3 = [part.mass_kg / part.bulk_density.likely for part in parts]
    by_dry, by_ratio, by_volume = [], [], []
    for number, part in enumerate(parts):
        carbon = carbon_kg[number] / likely.carbon_kg
        nitrogen = nitrogen_kg[number] / likely.nitrogen_kg
        by_dry.append((dry[number], dry_kg[number] / math.fsum(dry_kg)))
        by_ratio += [
            (dry[number], carbon - nitrogen),
            (part.carbon_to_nitrogen, nitrogen),
        ]
        by_volume.append((part.bulk_density, -volume_m3[number] / likely.volume_m3))
    dry_fraction = _around(1 - likely.moisture, by_dry, unit="1", basis="dry matter of the mix")
    return MixRange(
        moisture=complement(dry_fraction, basis="water of the mix"),
        carbon_to_nitrogen=_around(
            likely.carbon_to_nitrogen, by_ratio, unit="1", basis="carbon by nitrogen of the mix"
        ),
        volume_m3=_around(likely.volume_m3, by_volume, unit="m3", basis="volumes of the materials"),
    )


def _likely(part: MaterialPart) -> Part:
    return Part(
        ingredient=Ingredient(
            name=part.name,
            moisture=part.moisture.likely,
            nitrogen_fraction=part.nitrogen_fraction.likely,
            carbon_to_nitrogen=part.carbon_to_nitrogen.likely,
            bulk_density_kg_per_m3=part.bulk_density.likely,
        ),
        mass_kg=part.mass_kg,
    )


def _around(
    likely: float, powers: Sequence[tuple[Estimate, float]], *, unit: str, basis: str
) -> Estimate:
    """Return a likely value with the spread of the factors, each to its power."""
    scale = likely / math.prod(factor.likely**power for factor, power in powers)
    return product(powers, scale=scale, unit=unit, basis=basis)
