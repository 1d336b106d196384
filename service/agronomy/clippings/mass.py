"""What one mowing yields: dry matter, fresh mass, volume, nitrogen, C:N."""

from dataclasses import dataclass
from typing import Final

from service.agronomy.estimates.uncertainty import complement, product
from service.core.errors import Refusal
from service.core.measures.estimates import Estimate, Factor, exactly

# The range of the formula: wider than any lawn or any grass a mower takes. Beyond it somebody
# mistook a unit.
AREA_M2_MAX: Final = 1e7
HEIGHT_MM_MAX: Final = 1000.0
# One third, of the height before the cut [cornell-one-third].
ONE_THIRD: Final = 1 / 3


class AreaOutOfRange(Refusal):
    """The mown area is not one a crew mows."""

    code = "area_out_of_range"
    sentence = "A mown area of {area_m2} m2 lies outside 0 to {area_m2_max} m2."


class HeightOutOfRange(Refusal):
    """The height removed is not one a mower takes off that grass."""

    code = "height_out_of_range"
    sentence = (
        "{height_removed_mm} mm removed from grass {height_before_mm} mm high is not possible: "
        "more than 0, less than the grass was high, at most {height_mm_max} mm."
    )


class FactorUnitWrong(Refusal):
    """A factor came in another unit than the equation needs."""

    code = "factor_unit_wrong"
    sentence = "{name} is in {unit}; the equation needs {wanted}."


@dataclass(frozen=True, slots=True, kw_only=True)
class ClippingsEstimate:
    """What a mowing yields, and the factors that say why.

    Parameters
    ----------
    dry_matter_kg, mass_kg
        Without and with its water [kg].
    volume_m3
        As packed as the bulk density given [m3].
    nitrogen_kg
        Nitrogen in it [kg].
    carbon_to_nitrogen
        Carbon per nitrogen [kg/kg].
    one_third_rule_broken
        Whether more than a third of the height came off; None if the height
        before the cut is not known.
    factors
        Every number that went in, in the order of the equations.
    """

    dry_matter_kg: Estimate
    mass_kg: Estimate
    volume_m3: Estimate
    nitrogen_kg: Estimate
    carbon_to_nitrogen: Estimate
    one_third_rule_broken: bool | None
    factors: tuple[Factor, ...]


def estimate_clippings(
    *,
    area_m2: float,
    height_removed_mm: float,
    height_before_mm: float | None,
    sward_density: Estimate,
    moisture: Estimate,
    bulk_density: Estimate,
    nitrogen_fraction: Estimate,
    carbon_to_nitrogen: Estimate,
) -> ClippingsEstimate:
    """Return what one mowing yields, each as low, likely and high.

    Parameters
    ----------
    area_m2
        Area mown [m2], 0 < it <= 10,000,000.
    height_removed_mm
        Height of grass taken off [mm], 0 < it <= 1,000.
    height_before_mm
        Height before the cut [mm], above what came off; None if not known.
    sward_density
        Dry matter per area and height of the layer taken off [g/m2/mm].
    moisture
        Water per wet mass [1], 0 <= it < 1.
    bulk_density
        Wet mass per volume as packed [kg/m3].
    nitrogen_fraction
        Nitrogen per dry matter [1].
    carbon_to_nitrogen
        Carbon per nitrogen [1].

    Raises
    ------
    AreaOutOfRange, HeightOutOfRange, FactorUnitWrong, FractionOutOfRange,
    IntervalReachesZero

    Notes
    -----
    dry matter = area x height removed x sward density; fresh mass = dry matter /
    (1 - moisture); volume = fresh mass / bulk density; nitrogen = dry matter x
    nitrogen fraction. The factors are taken as independent; the area and the
    height as the crew entered them. The wetter, the heavier and the wider. What
    stands behind the sward density is told in README.md beside this module.

    References
    ----------
    [michell-large-1983] dry matter proportional to sward height; [beaty-1968],
    [murphy-1997] the layers near the ground are the densest, and a mower leaves them.
    [cornell-one-third] one third of the height.
    """
    if not 0 < area_m2 <= AREA_M2_MAX:
        raise AreaOutOfRange(area_m2=area_m2, area_m2_max=AREA_M2_MAX)
    before_mm = HEIGHT_MM_MAX if height_before_mm is None else height_before_mm
    if not 0 < height_removed_mm < before_mm <= HEIGHT_MM_MAX:
        raise HeightOutOfRange(
            height_removed_mm=height_removed_mm,
            height_before_mm="an unknown number of" if height_before_mm is None else before_mm,
            height_mm_max=HEIGHT_MM_MAX,
        )
    _in_unit("sward_density", sward_density, "g/m2/mm")
    _in_unit("moisture", moisture, "1")
    _in_unit("bulk_density", bulk_density, "kg/m3")
    _in_unit("nitrogen_fraction", nitrogen_fraction, "1")
    _in_unit("carbon_to_nitrogen", carbon_to_nitrogen, "1")
    dry_fraction = complement(moisture, basis="dry matter per wet mass")
    scale = area_m2 * height_removed_mm / 1000
    return ClippingsEstimate(
        dry_matter_kg=product(
            [(sward_density, 1)],
            scale=scale,
            unit="kg",
            basis=f"area x height x sward density: {sward_density.basis}",
        ),
        mass_kg=product(
            [(sward_density, 1), (dry_fraction, -1)],
            scale=scale,
            unit="kg",
            basis="dry matter / (1 - moisture)",
        ),
        volume_m3=product(
            [(sward_density, 1), (dry_fraction, -1), (bulk_density, -1)],
            scale=scale,
            unit="m3",
            basis="fresh mass / bulk density",
        ),
        nitrogen_kg=product(
            [(sward_density, 1), (nitrogen_fraction, 1)],
            scale=scale,
            unit="kg",
            basis="dry matter x nitrogen fraction",
        ),
        carbon_to_nitrogen=carbon_to_nitrogen,
        one_third_rule_broken=(
            None
            if height_before_mm is None
            else height_removed_mm > height_before_mm * ONE_THIRD * (1 + 1e-9)
        ),
        factors=(
            Factor(name="area_m2", value=exactly(area_m2, unit="m2", basis="as entered")),
            Factor(
                name="height_removed_mm",
                value=exactly(height_removed_mm, unit="mm", basis="as entered"),
            ),
            Factor(name="sward_density_g_per_m2_mm", value=sward_density),
            Factor(name="moisture", value=moisture),
            Factor(name="bulk_density_kg_per_m3", value=bulk_density),
            Factor(name="nitrogen_fraction", value=nitrogen_fraction),
            Factor(name="carbon_to_nitrogen", value=carbon_to_nitrogen),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What clippings of a state hold, whatever stood on the lawn.

    Parameters
    ----------
    moisture
        Water per wet mass [1], 0 <= it < 1.
    bulk_density
        Wet mass per volume as packed [kg/m3].
    nitrogen_fraction
        Nitrogen per dry matter [1].
    """

    moisture: Estimate
    bulk_density: Estimate
    nitrogen_fraction: Estimate

    def volume_m3(self, mass_kg: Estimate) -> Estimate:
        """Return the volume of a mass [m3].

        Raises
        ------
        IntervalReachesZero

        Notes
        -----
        volume = mass / bulk density. How dense a lawn stood spreads it as far as it
        spreads the mass, and not at all where that was measured.
        """
        return product(
            [(mass_kg, 1), (self.bulk_density, -1)],
            unit="m3",
            basis="mass / bulk density",
        )

    def mass_kg(self, volume_m3: Estimate) -> Estimate:
        """Return the mass of a volume [kg].

        Raises
        ------
        IntervalReachesZero

        Notes
        -----
        mass = volume x bulk density.
        """
        return product(
            [(volume_m3, 1), (self.bulk_density, 1)],
            unit="kg",
            basis="volume x bulk density",
        )

    def nitrogen_kg(self, mass_kg: Estimate) -> Estimate:
        """Return the nitrogen in a mass [kg].

        Raises
        ------
        FractionOutOfRange, IntervalReachesZero

        Notes
        -----
        nitrogen = mass x (1 - moisture) x nitrogen fraction.
        """
        return product(
            [(mass_kg, 1), (self._dry_fraction, 1), (self.nitrogen_fraction, 1)],
            unit="kg",
            basis="mass x (1 - moisture) x nitrogen fraction",
        )

    def dry_matter_kg(self, mass_kg: Estimate) -> Estimate:
        """Return the dry matter in a mass [kg].

        Raises
        ------
        FractionOutOfRange, IntervalReachesZero

        Notes
        -----
        dry matter = mass x (1 - moisture).
        """
        return product(
            [(mass_kg, 1), (self._dry_fraction, 1)], unit="kg", basis="mass x (1 - moisture)"
        )

    @property
    def _dry_fraction(self) -> Estimate:
        return complement(self.moisture, basis="dry matter per wet mass")


def _in_unit(name: str, estimate: Estimate, wanted: str) -> None:
    if estimate.unit != wanted:
        raise FactorUnitWrong(name=name, unit=estimate.unit, wanted=wanted)
