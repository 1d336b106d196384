"""How fast cut grass dries on a tarp or in a swath."""

from dataclasses import dataclass

from service.agronomy.estimates.validity import within


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingHour:
    """The weather of one hour, or of any stretch that is alike throughout.

    Parameters
    ----------
    solar_w_per_m2
        Sun on level ground [W/m2], 0 to 1400.
    vapour_pressure_deficit_kpa
        Vapour the air can still take up [kPa], 0 to 10.
    first_day
        Whether the grass was cut on this day.
    """

    solar_w_per_m2: float
    vapour_pressure_deficit_kpa: float
    first_day: bool

    def __post_init__(self) -> None:
        """Refuse weather no place has."""
        within("solar_w_per_m2", self.solar_w_per_m2, low=0, high=1400, unit="W/m2")
        within(
            "vapour_pressure_deficit_kpa",
            self.vapour_pressure_deficit_kpa,
            low=0,
            high=10,
            unit="kPa",
        )


def swath_density_g_per_m2(
    *, depth_mm: float, bulk_density_kg_per_m3: float, moisture: float
) -> float:
    """Return the dry matter that lies on an area.

    Parameters
    ----------
    depth_mm
        Depth of the layer [mm], 1 to 500.
    bulk_density_kg_per_m3
        Fresh mass per volume [kg/m3], 10 to 1200.
    moisture
        Water per fresh mass [kg/kg], 0 to 0.95.

    Returns
    -------
    float
        Dry matter per area [g/m2].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    References
    ----------
    Conservation of mass; no source needed.
    """
    within("depth_mm", depth_mm, low=1, high=500, unit="mm")
    within("bulk_density_kg_per_m3", bulk_density_kg_per_m3, low=10, high=1200, unit="kg/m3")
    within("moisture", moisture, low=0, high=0.95, unit="1")
    return depth_mm * bulk_density_kg_per_m3 * (1 - moisture)


def drying_rate_per_h(
    weather: DryingHour, *, soil_moisture: float, swath_density_g_per_m2: float
) -> float:
    """Return the part of its water that cut grass loses in an hour.

    Parameters
    ----------
    weather
        Sun, air, and whether it is the day of the cut.
    soil_moisture
        Water per dry soil under the layer [kg/kg], 0 to 0.5. On a tarp the soil
        gives nothing: use the driest, 0.
    swath_density_g_per_m2
        Dry matter per area [g/m2], 50 to 3000.

    Returns
    -------
    float
        Drying rate constant [1/h].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    D = (SI + 43.8 VPD) / (61.4 SM + SD (1.82 - 0.83 DAY) 1.68 + 2767), with the
    soil moisture in percent of dry soil and no chemical conditioner. Found for
    crushed lucerne in Michigan, R2 0.64; chopped leaves have no thick stems and
    dry at least as fast, mats may dry slower. No rewetting by dew or rain: a
    wet hour is one with neither sun nor deficit, a rained-on load starts anew.

    References
    ----------
    [rotz-chen-1985] equation with the vapour pressure deficit.
    """
    within("soil_moisture", soil_moisture, low=0, high=0.5, unit="1")
    within("swath_density_g_per_m2", swath_density_g_per_m2, low=50, high=3000, unit="g/m2")
    drive = weather.solar_w_per_m2 + 43.8 * weather.vapour_pressure_deficit_kpa
    day = 1.0 if weather.first_day else 0.0
    hindrance = (
        61.4 * soil_moisture * 100 + swath_density_g_per_m2 * (1.82 - 0.83 * day) * 1.68 + 2767
    )
    return drive / hindrance
