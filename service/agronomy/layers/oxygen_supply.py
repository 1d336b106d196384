"""How easily oxygen moves through a layer."""

from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.layers.material import LayerMaterial

# Oxygen in dry air by volume, and its molar mass [g/mol]: [us-standard-atmosphere-1976].
AIR_OXYGEN_FRACTION: Final = 0.2095
_OXYGEN_G_PER_MOL: Final = 31.998
# Exact since 2019: SI brochure, ninth edition.
_GAS_CONSTANT_J_PER_MOL_K: Final = 8.314462618
_ZERO_C_IN_K: Final = 273.15
_ATMOSPHERE_PA: Final = 101325.0
# Oxygen in air at 0 C and one atmosphere [m2/s]: [ict-1929-diffusion]; the power of
# the temperature: [monteith-unsworth-2013].
_DIFFUSION_AT_ZERO_M2_PER_S: Final = 1.78e-5
_DIFFUSION_POWER: Final = 1.75


def oxygen_diffusivity_m2_per_s(temperature_c: float) -> float:
    """Return the diffusion coefficient of oxygen in free air.

    Parameters
    ----------
    temperature_c
        Temperature of the air in the pores [C], 0 to 80.

    Returns
    -------
    float
        Diffusion coefficient at one atmosphere [m2/s].

    Raises
    ------
    OutsideValidity
        If the temperature lies outside the range.

    Notes
    -----
    D = 1.78e-5 (T / 273.15)^1.75, T in kelvin. The composting value of
    [cwmi-oxygen-air], for moist air, is 6 to 9 % higher: this one errs towards
    less air.

    References
    ----------
    [ict-1929-diffusion] the value at 0 C; [monteith-unsworth-2013] the power.
    """
    within("temperature_c", temperature_c, low=0, high=80, unit="C")
    kelvin_ratio = (temperature_c + _ZERO_C_IN_K) / _ZERO_C_IN_K
    return float(_DIFFUSION_AT_ZERO_M2_PER_S * kelvin_ratio**_DIFFUSION_POWER)


def millington_quirk(*, air_filled_porosity: float, porosity: float) -> float:
    """Return the diffusivity of a porous layer relative to free air.

    Parameters
    ----------
    air_filled_porosity
        Volume of air per volume [1], 0 to the porosity.
    porosity
        Volume of air and water per volume [1], above 0 to 1.

    Returns
    -------
    float
        Effective per free-air diffusion coefficient [1], 0 to 1.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    air^(10/3) / porosity^2.

    References
    ----------
    [millington-quirk-1961] the equation.
    """
    within("porosity", porosity, low=1e-6, high=1, unit="1")
    within("air_filled_porosity", air_filled_porosity, low=0, high=porosity, unit="1")
    return float(air_filled_porosity ** (10 / 3) / porosity**2)


def oxygen_concentration_g_per_m3(*, oxygen_fraction: float, temperature_c: float) -> float:
    """Return the mass of oxygen in a volume of air.

    Parameters
    ----------
    oxygen_fraction
        Oxygen per air by volume [1], 0 to 0.2095.
    temperature_c
        Temperature of the air [C], 0 to 80.

    Returns
    -------
    float
        Oxygen at one atmosphere [g/m3].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    The ideal gas: fraction x p / (R T) x 31.998 g/mol.

    References
    ----------
    [us-standard-atmosphere-1976] share of oxygen in dry air.
    """
    within("oxygen_fraction", oxygen_fraction, low=0, high=AIR_OXYGEN_FRACTION, unit="1")
    within("temperature_c", temperature_c, low=0, high=80, unit="C")
    mol_per_m3 = _ATMOSPHERE_PA / (_GAS_CONSTANT_J_PER_MOL_K * (temperature_c + _ZERO_C_IN_K))
    return oxygen_fraction * mol_per_m3 * _OXYGEN_G_PER_MOL


def effective_diffusivity_m2_per_s(material: LayerMaterial, *, temperature_c: float) -> float:
    """Return the diffusion coefficient of oxygen in the layer.

    Parameters
    ----------
    material
        The layer.
    temperature_c
        Temperature of the material [C], 0 to 80.

    Returns
    -------
    float
        Effective diffusion coefficient, per area of the layer [m2/s].

    Raises
    ------
    OutsideValidity
        If the temperature lies outside the range.

    References
    ----------
    [millington-quirk-1961] the equation.
    """
    return oxygen_diffusivity_m2_per_s(temperature_c) * millington_quirk(
        air_filled_porosity=material.air_filled_porosity, porosity=material.porosity
    )
