"""What a sample tells of a material: its water by the oven, its carbon by its ash."""

from service.agronomy.estimates.validity import within


def moisture_of_sample(*, wet_mass_g: float, dry_mass_g: float) -> float:
    """Return the moisture of a sample dried in an oven [kg/kg].

    Parameters
    ----------
    wet_mass_g
        Mass of the sample before drying [g], > 0, without its container.
    dry_mass_g
        Mass after 24 hours at 105 to 110 C [g], 0 to the wet mass.

    Raises
    ------
    OutsideValidity

    Notes
    -----
    M = (wet - dry) / wet.

    References
    ----------
    [cwmi-moisture] the oven method and its example.
    """
    within("wet_mass_g", wet_mass_g, low=1e-6, high=1e6, unit="g")
    within("dry_mass_g", dry_mass_g, low=0, high=wet_mass_g, unit="g")
    return (wet_mass_g - dry_mass_g) / wet_mass_g


def carbon_fraction_from_ash(*, ash_fraction: float) -> float:
    """Return the carbon of dry matter from its ash [kg/kg].

    Parameters
    ----------
    ash_fraction
        Ash per dry matter [kg/kg], 0 to 1.

    Raises
    ------
    OutsideValidity

    Notes
    -----
    C = (1 - ash) / 1.8: carbon is taken as 55 % of what burns off.

    References
    ----------
    [cwmi-carbon] after Adams and others 1951.
    """
    within("ash_fraction", ash_fraction, low=0, high=1, unit="1")
    return (1 - ash_fraction) / 1.8
