"""What a layer of clippings consists of: solids, water and air."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from service.agronomy.estimates.validity import OutsideValidity, within

# Water and dry plant matter [kg/m3]: [de-vries-1963] rounds water to 1000; the cell
# wall is [stamm-1964], common to all plants.
WATER_DENSITY_KG_PER_M3: Final = 1000.0
SOLID_DENSITY_KG_PER_M3: Final = 1500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerMaterial:
    """What a layer consists of.

    Parameters
    ----------
    bulk_density_kg_per_m3
        Fresh mass per volume as it lies [kg/m3], 10 to 1200.
    moisture
        Water per fresh mass [kg/kg], 0 to 0.95.
    oxygen_uptake_g_per_kg_h
        Oxygen used per dry matter at 20 C [g/kg/h], 0 to 20.
    """

    bulk_density_kg_per_m3: float
    moisture: float
    oxygen_uptake_g_per_kg_h: float

    def __post_init__(self) -> None:
        """Refuse values no layer has, and more matter than fits the volume."""
        within(
            "bulk_density_kg_per_m3",
            self.bulk_density_kg_per_m3,
            low=10,
            high=greatest_density_kg_per_m3(self.moisture),
            unit="kg/m3",
        )
        within(
            "oxygen_uptake_g_per_kg_h",
            self.oxygen_uptake_g_per_kg_h,
            low=0,
            high=20,
            unit="g/kg/h",
        )

    @property
    def dry_matter_kg_per_m3(self) -> float:
        """Dry matter per volume of the layer [kg/m3]."""
        return self.bulk_density_kg_per_m3 * (1 - self.moisture)

    @property
    def solid_fraction(self) -> float:
        """Volume of dry matter per volume of the layer [1]."""
        return self.dry_matter_kg_per_m3 / SOLID_DENSITY_KG_PER_M3

    @property
    def water_fraction(self) -> float:
        """Volume of water per volume of the layer [1]."""
        return self.bulk_density_kg_per_m3 * self.moisture / WATER_DENSITY_KG_PER_M3

    @property
    def porosity(self) -> float:
        """Volume of water and air per volume of the layer [1]."""
        return 1 - self.solid_fraction

    @property
    def air_filled_porosity(self) -> float:
        """Volume of air per volume of the layer [1], >= 0."""
        return max(0.0, self.porosity - self.water_fraction)


def greatest_density_kg_per_m3(moisture: float) -> float:
    """Return the density at which no air is left between the leaves.

    Parameters
    ----------
    moisture
        Water per fresh mass [kg/kg], 0 to 0.95.

    Returns
    -------
    float
        Fresh mass per volume without air [kg/m3].

    Raises
    ------
    OutsideValidity
        If the moisture lies outside its range.

    Notes
    -----
    1 / (M / 1000 + (1 - M) / 1500).

    References
    ----------
    [stamm-1964] density of the dry cell wall.
    """
    within("moisture", moisture, low=0, high=0.95, unit="1")
    return 1 / (moisture / WATER_DENSITY_KG_PER_M3 + (1 - moisture) / SOLID_DENSITY_KG_PER_M3)


def mixed_material(parts: Sequence[tuple[float, LayerMaterial]]) -> LayerMaterial:
    """Return the layer that several materials make when they are mixed.

    Parameters
    ----------
    parts
        Volume of each material in any one unit, > 0, and the material; at
        least one.

    Returns
    -------
    LayerMaterial
        The mix: densities by volume, moisture by fresh mass, uptake by dry
        mass.

    Raises
    ------
    OutsideValidity
        If there is no part or a volume is not above zero.

    Notes
    -----
    Volumes add: grass does not fill the gaps between the browns. It does to
    some degree, which makes the real mix denser and less airy, so keep the
    high end of the grass density where a limit hangs on it.

    References
    ----------
    Conservation of mass; no source needed.
    """
    within("number of parts", len(parts), low=1, high=100, unit="1")
    for volume, _ in parts:
        if not 0 < volume < float("inf"):
            raise OutsideValidity(
                quantity="volume of a part", value=volume, low=0, high=float("inf"), unit="m3"
            )
    volume_m3 = sum(volume for volume, _ in parts)
    fresh_kg = sum(volume * part.bulk_density_kg_per_m3 for volume, part in parts)
    dry_kg = sum(volume * part.dry_matter_kg_per_m3 for volume, part in parts)
    uptake = sum(
        volume * part.dry_matter_kg_per_m3 * part.oxygen_uptake_g_per_kg_h for volume, part in parts
    )
    # Rounding alone could make bone-dry parts drier than dry, or full ones fuller.
    moisture = max(0.0, 1 - dry_kg / fresh_kg)
    return LayerMaterial(
        bulk_density_kg_per_m3=min(fresh_kg / volume_m3, greatest_density_kg_per_m3(moisture)),
        moisture=moisture,
        oxygen_uptake_g_per_kg_h=uptake / dry_kg,
    )
