"""A mix of compost materials: its water, carbon, nitrogen and weight.

Everything here is a balance of masses. Leaflets often average C:N ratios by
parts ("four parts at 20:1 and one at 80:1 give 32:1"); that holds only where
every part carries the same nitrogen and is no substitute for the balance.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from service.agronomy.estimates.validity import within
from service.core.errors import Refusal

# Carbon is 45 to 60 % of what burns off dry matter [cwmi-carbon]: nothing that
# grows has more. Tables that give clippings 4 % nitrogen and 17:1 claim 68 %.
CARBON_FRACTION_MAX: Final = 0.60


class CarbonImpossible(Refusal):
    """Nitrogen and C:N of a material claim more carbon than dry matter can hold."""

    code = "carbon_impossible"
    sentence = (
        "{name}: nitrogen {nitrogen_fraction} times C:N {carbon_to_nitrogen} is a carbon share of "
        "{carbon_fraction}; no plant has more than {carbon_fraction_max}. One of the two is wrong."
    )


class MixEmpty(Refusal):
    """A mix of nothing has no moisture and no C:N."""

    code = "mix_empty"
    sentence = "A mix needs at least one material with mass, dry matter and nitrogen."


@dataclass(frozen=True, slots=True, kw_only=True)
class Ingredient:
    """A material as delivered.

    Parameters
    ----------
    name
        What it is.
    moisture
        Water per wet mass [kg/kg], 0 <= it <= 1; water itself is 1.
    nitrogen_fraction
        Nitrogen per dry matter [kg/kg], 0 to 0.5.
    carbon_to_nitrogen
        Carbon per nitrogen [kg/kg], 0 to 2,000.
    bulk_density_kg_per_m3
        Wet mass per volume as heaped [kg/m3], 5 to 1,500.
    """

    name: str
    moisture: float
    nitrogen_fraction: float
    carbon_to_nitrogen: float
    bulk_density_kg_per_m3: float

    def __post_init__(self) -> None:
        """Refuse what no material is."""
        within("moisture", self.moisture, low=0, high=1, unit="1")
        within("nitrogen_fraction", self.nitrogen_fraction, low=0, high=0.5, unit="1")
        within("carbon_to_nitrogen", self.carbon_to_nitrogen, low=0, high=2000, unit="1")
        within("bulk_density", self.bulk_density_kg_per_m3, low=5, high=1500, unit="kg/m3")
        if self.carbon_fraction > CARBON_FRACTION_MAX:
            raise CarbonImpossible(
                name=self.name,
                nitrogen_fraction=self.nitrogen_fraction,
                carbon_to_nitrogen=self.carbon_to_nitrogen,
                carbon_fraction=round(self.carbon_fraction, 3),
                carbon_fraction_max=CARBON_FRACTION_MAX,
            )

    @property
    def carbon_fraction(self) -> float:
        """Carbon per dry matter [kg/kg]: %C = %N x C:N."""
        return self.nitrogen_fraction * self.carbon_to_nitrogen

    @property
    def nitrogen_per_wet_mass(self) -> float:
        """Nitrogen per wet mass [kg/kg]."""
        return (1 - self.moisture) * self.nitrogen_fraction

    @property
    def carbon_per_wet_mass(self) -> float:
        """Carbon per wet mass [kg/kg]."""
        return (1 - self.moisture) * self.carbon_fraction


# Water to wet a mix that is too dry: no carbon, no nitrogen, and by definition all moisture.
WATER: Final = Ingredient(
    name="water",
    moisture=1.0,
    nitrogen_fraction=0.0,
    carbon_to_nitrogen=0.0,
    bulk_density_kg_per_m3=1000.0,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A mass of an ingredient in a mix [kg], >= 0, as delivered."""

    ingredient: Ingredient
    mass_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A mix of materials.

    Parameters
    ----------
    mass_kg, water_kg, carbon_kg, nitrogen_kg
        Wet mass, and the water, carbon and nitrogen in it [kg].
    volume_m3
        Sum of the volumes as heaped [m3]; small pieces fall between large ones,
        so the heap is no larger than this. Water takes no room of its own.
    """

    mass_kg: float
    water_kg: float
    carbon_kg: float
    nitrogen_kg: float
    volume_m3: float

    @property
    def moisture(self) -> float:
        """Water per wet mass [kg/kg]."""
        return self.water_kg / self.mass_kg

    @property
    def carbon_to_nitrogen(self) -> float:
        """Carbon per nitrogen [kg/kg]."""
        return self.carbon_kg / self.nitrogen_kg

    @property
    def bulk_density_kg_per_m3(self) -> float:
        """Wet mass per volume [kg/m3], no denser than this once mixed is not promised."""
        return self.mass_kg / self.volume_m3


def mix_of(parts: Sequence[Part]) -> Mix:
    """Return the mix of any number of materials.

    Parameters
    ----------
    parts
        Materials with their masses as delivered.

    Raises
    ------
    MixEmpty
        If there is no mass, no volume or no nitrogen in it.
    OutsideValidity
        If a mass is negative or not finite.

    Notes
    -----
    moisture G = sum(Q M) / sum(Q); C:N R = sum(Q C (1 - M)) / sum(Q N (1 - M)).

    References
    ----------
    [cwmi-cn-ratio] both equations; [cwmi-moisture] the first.
    """
    for part in parts:
        within("mass_kg", part.mass_kg, low=0, high=1e9, unit="kg")
    mix = Mix(
        mass_kg=math.fsum(part.mass_kg for part in parts),
        water_kg=math.fsum(part.mass_kg * part.ingredient.moisture for part in parts),
        carbon_kg=math.fsum(part.mass_kg * part.ingredient.carbon_per_wet_mass for part in parts),
        nitrogen_kg=math.fsum(
            part.mass_kg * part.ingredient.nitrogen_per_wet_mass for part in parts
        ),
        volume_m3=math.fsum(
            part.mass_kg / part.ingredient.bulk_density_kg_per_m3
            for part in parts
            if part.ingredient.moisture < 1
        ),
    )
    if mix.mass_kg <= 0 or mix.volume_m3 <= 0 or mix.nitrogen_kg <= 0:
        raise MixEmpty
    return mix
