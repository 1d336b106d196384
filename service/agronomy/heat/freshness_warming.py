"""How long a heap stays fresh that nobody has put a thermometer in."""

from typing import Final

from service.agronomy.heat.freshness import (
    FreshnessClock,
    FreshnessLimit,
    SouringPace,
    freshness_clock,
)
from service.agronomy.heat.layer_warming import hours_to
from service.agronomy.layers.material import LayerMaterial

# A resting heap that heats is taken to be this warm: the start of the thermophilic
# stage, [cwmi-physics].
WARM_HEAP_C: Final = 40.0


def warming_freshness_clock(
    material: LayerMaterial,
    *,
    depth_mm: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
    open_faces: int,
    pace: SouringPace,
    cap_hours: float,
) -> FreshnessClock:
    """Return the clock of a heap that nobody has measured, its own heat included.

    Parameters
    ----------
    material
        The clippings as they lie; their uptake must not be 0.
    depth_mm
        Depth between the faces [mm], 1 to 10,000.
    air_temperature_c
        Temperature of the air and of the fresh clippings [C], -40 to 50.
    surface_w_per_m2_k
        Heat passed from an open face to the air [W/m2/K], 1 to 100.
    open_faces
        0 a closed bag, 1 a body or a heap on the ground, 2 a layer on slats.
    pace
        How fast grass without air sours.
    cap_hours
        Red clock no load gets beyond [h], above 0 to 1000.

    Returns
    -------
    FreshnessClock
        Both clocks, from the cut; share and oxygen those of the warm heap.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    Where `hours_to` says the load can reach 40 C, it is taken to be at 40 C from
    the earliest hour on: t40 + (1 - t40 / clock at air temperature) x clock at
    40 C. Errs towards sour. A closed bag has no air to heat with.

    References
    ----------
    [cwmi-physics] heaps reach 40 to 50 C in days; `freshness_clock` the rest.
    """

    def clock_at(temperature_c: float) -> FreshnessClock:
        return freshness_clock(
            material,
            depth_mm=depth_mm,
            temperature_c=temperature_c,
            open_faces=open_faces,
            pace=pace,
            cap_hours=cap_hours,
        )

    cool = clock_at(air_temperature_c)
    reaches_warm = (
        None
        if open_faces == 0 or air_temperature_c >= WARM_HEAP_C
        else hours_to(
            material,
            depth_mm=depth_mm / open_faces,
            air_temperature_c=air_temperature_c,
            surface_w_per_m2_k=surface_w_per_m2_k,
            target_c=WARM_HEAP_C,
        )
    )
    if reaches_warm is None:
        return cool
    warm = clock_at(WARM_HEAP_C)
    red_hours = min(cap_hours, _in_turn(reaches_warm, cool.red_hours, warm.red_hours))
    # A hair under the cap is the cap, rounded.
    souring = red_hours < cap_hours * (1 - 1e-9)
    return FreshnessClock(
        amber_hours=_in_turn(reaches_warm, cool.amber_hours, warm.amber_hours),
        red_hours=red_hours,
        airless_share=warm.airless_share,
        airless_after_hours=warm.airless_after_hours,
        limit=FreshnessLimit.SOURING if souring else FreshnessLimit.CAP,
    )


def _in_turn(warm_from_hours: float, cool_hours: float, warm_hours: float) -> float:
    """Return the clock of a load that is cool first and warm later."""
    if warm_from_hours >= cool_hours:
        return cool_hours
    return warm_from_hours + (1 - warm_from_hours / cool_hours) * warm_hours
