"""The parts of a heap that turn before the rest of it does."""

from typing import Final

from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen_uptake import BREATHING_POWER

# The water at which cut grass warms itself fastest: its breathing, [rotz-1995], over the heat it
# takes to warm, M^2.6 (1 - M) / (1.67 (1 - M) + 4.18 M), is greatest here (a test holds it).
FASTEST_MOISTURE: Final = 0.68
# End of the range of a layer [kg/m3].
_LOOSEST: Final = 10.0
# Dry matter of pockets that lie looser [kg/m3], from grass as loose as a crew tips it. A choice,
# no source: half of the least of [bertrand-mst], and each two thirds of the next.
_LOOSER_KG_PER_M3: Final = (30.0, 45.0, 67.0, 100.0, 150.0, 225.0)


def pockets_of(material: LayerMaterial) -> tuple[LayerMaterial, ...]:
    """Return clippings as they are on the whole, and as they are where they dried and lie loose.

    Parameters
    ----------
    material
        The clippings on the whole.

    Returns
    -------
    tuple
        The clippings first. The same leaves with less water breathe M^2.6 as fast.

    Notes
    -----
    Evenly wet grass warms late, because water stores heat, and evenly packed grass because air
    gets in less far. No heap is even: leaves dry at its face, water drains, and it lies looser
    at its edges. So no lot is said to keep longer for being wet or packed: it turns with the
    first of its pockets, and the pockets of the same leaves are the same however wet they are.

    References
    ----------
    [rotz-1995] equation 3, loss by respiration at one moisture; [hayandforage-respiration] has
    breathing slow down only from 60 % on; [common-practice] that the first pocket counts:
    judgement, towards early.
    """
    drained = min(material.moisture, FASTEST_MOISTURE)
    own = material.dry_matter_kg_per_m3
    slower = (drained / material.moisture) ** BREATHING_POWER if drained < material.moisture else 1
    looser = [dry for dry in _LOOSER_KG_PER_M3 if dry < own]
    return (
        material,
        *(
            LayerMaterial(
                bulk_density_kg_per_m3=dry / (1 - drained),
                moisture=drained,
                oxygen_uptake_g_per_kg_h=material.oxygen_uptake_g_per_kg_h * slower,
            )
            for dry in (*looser, own)
            if dry < own or (drained < material.moisture and own / (1 - drained) >= _LOOSEST)
        ),
    )
