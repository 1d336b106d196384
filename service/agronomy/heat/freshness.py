"""How long clippings stay fresh in a heap, a body or a bag.

Two things sour grass: it runs out of air, and it has time. The share of a load
beyond the reach of air, and its temperature, set the clock.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.heat.pockets import pockets_of
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen import aerobic_depth_mm, hours_of_oxygen_in_pores

# Begin and end of the thermophilic stage, [cwmi-physics].
WARM_C: Final = 40.0
HOT_C: Final = 60.0


class FreshnessLimit(StrEnum):
    """What set a clock."""

    CAP = "cap"
    SOURING = "souring"
    HEAT = "heat"


@dataclass(frozen=True, slots=True, kw_only=True)
class SouringPace:
    """How fast grass without air turns sour.

    Parameters
    ----------
    amber_hours, red_hours
        Hours without air until it starts to smell, and until a gate refuses it,
        at the reference temperature [h], above 0 to 1000, in order.
    reference_c
        Temperature the two belong to [C], 0 to 50.
    ratio_per_10_c
        Pace per pace at 10 C less (Q10) [1], 1 to 5.
    uptake_g_per_kg_h
        Oxygen that the grass they belong to breathes at 20 C [g/kg/h], above 0 to 20. Grass that
        breathes faster sours faster in proportion; none sours slower.
    """

    amber_hours: float
    red_hours: float
    reference_c: float
    ratio_per_10_c: float
    uptake_g_per_kg_h: float

    def __post_init__(self) -> None:
        """Refuse a pace no grass has."""
        within("red_hours", self.red_hours, low=1e-3, high=1000, unit="h")
        within("amber_hours", self.amber_hours, low=1e-3, high=self.red_hours, unit="h")
        within("reference_c", self.reference_c, low=0, high=50, unit="C")
        within("ratio_per_10_c", self.ratio_per_10_c, low=1, high=5, unit="1")
        within("uptake_g_per_kg_h", self.uptake_g_per_kg_h, low=1e-3, high=20, unit="g/kg/h")

    def hastened(self, material: LayerMaterial) -> float:
        """Return how much faster than custom has it this material sours [1], >= 1."""
        return max(1.0, material.oxygen_uptake_g_per_kg_h / self.uptake_g_per_kg_h)


@dataclass(frozen=True, slots=True, kw_only=True)
class FreshnessClock:
    """When a load turns amber and red, counted from the cut.

    Parameters
    ----------
    amber_hours, red_hours
        Hours from the cut [h].
    free_air_space
        Volume of air per volume of the clippings as they lie [1].
    airless_share
        Share of the depth without air when the last of this was known [1], 0 to 1.
    airless_after_hours
        Hours after which the air shut in there is used up [h].
    limit
        Whether heat, souring or the cap set the red clock.
    hours_to_warm, hours_to_hot
        Until its hottest place is at 40 and at 60 C [h]; None if not before the cap.
    """

    amber_hours: float
    red_hours: float
    free_air_space: float
    airless_share: float
    airless_after_hours: float
    limit: FreshnessLimit
    hours_to_warm: float | None
    hours_to_hot: float | None


def airless_share(
    material: LayerMaterial, *, depth_mm: float, temperature_c: float, open_faces: int
) -> float:
    """Return the share of a load that air does not reach.

    Parameters
    ----------
    material
        The clippings as they lie.
    depth_mm
        Depth between the faces [mm], 1 to 10,000.
    temperature_c
        Temperature of the clippings [C], 0 to 70.
    open_faces
        Faces air gets in by: 0 a closed bag, 1 a body or a heap on the ground,
        2 a layer on slats.

    Returns
    -------
    float
        Share of the depth without oxygen [1], 0 to 1.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    1 - faces x reach / depth, not below 0. Without a floor of oxygen: the share
    that is truly airless.

    References
    ----------
    `aerobic_depth_mm`.
    """
    within("depth_mm", depth_mm, low=1, high=10_000, unit="mm")
    within("open_faces", open_faces, low=0, high=2, unit="1")
    reach_mm = aerobic_depth_mm(material, temperature_c=temperature_c, oxygen_floor=0)
    return max(0.0, 1 - open_faces * reach_mm / depth_mm)


def freshness_clock(
    material: LayerMaterial,
    *,
    depth_mm: float,
    temperature_c: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
    open_faces: int,
    pace: SouringPace,
    cap_hours: float,
) -> FreshnessClock:
    """Return when a heap, a layer, a body or a bag turns amber and red, and how soon it is hot.

    Parameters
    ----------
    material
        The clippings as they lie; their uptake must not be 0.
    depth_mm
        Depth between the faces [mm], 1 to 10,000.
    temperature_c
        Temperature of the clippings when it was heaped, or as measured [C], -40 to 70.
        Frozen ones are taken to be at 0.
    air_temperature_c
        Temperature of the air around [C], -40 to 50.
    surface_w_per_m2_k
        Heat passed from an open face to the air [W/m2/K], 1 to 100.
    open_faces
        0 a closed bag, 1 a body or a heap on the ground, 2 a layer on slats.
    pace
        How fast grass without air sours.
    cap_hours
        Red clock no load gets beyond, however airy [h], above 0 to 1000.

    Returns
    -------
    FreshnessClock
        Both clocks, from the cut, what set them, and the hours to 40 and 60 C.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    Two ends, and the earlier counts. Heat: its hottest place reaches 60 C. Souring: it is as sour
    as it would be after the pace's red hours without any air; the more water and the closer the
    packing, the less free air space, the sooner and the farther it is airless. The cap is the
    last. Amber is the first of 40 C, the pace's amber hours, and the same share of the cap as
    amber has of red. Half as much airless grass takes twice as long to smell as bad.

    Both ends are followed in the clippings on the whole and in their drier and looser pockets
    (`pockets_of`), and the first of them counts: so wetter or more packed never keeps longer.

    Heat and air are physics. The pace is judgement, no source, so keep it in the rules; that
    grass which breathes faster sours faster is so by direction (wilting restrains the
    fermentation of silage), in proportion by judgement.

    References
    ----------
    `heap_courses`; [cwmi-physics] 40 and 60 C, begin and end of the thermophilic stage;
    [cwmi-excess-moisture] water takes the pores; [agroscope-2000] [luke-2023] the drier, the
    less it ferments; [common-practice] amber and red hours.
    """
    from service.agronomy.heat.heap_course import (  # noqa: PLC0415 - brings numpy; keys need none
        heap_courses,
    )

    within("cap_hours", cap_hours, low=1e-3, high=1000, unit="h")
    within("temperature_c", temperature_c, low=-40, high=70, unit="C")
    start_c = max(0.0, temperature_c)
    pockets = pockets_of(material)
    hastened = [pace.hastened(pocket) for pocket in pockets]
    courses = heap_courses(
        pockets,
        depth_mm=depth_mm,
        temperature_c=start_c,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
        open_faces=open_faces,
        souring_reference_c=pace.reference_c,
        souring_ratio_per_10_c=pace.ratio_per_10_c,
    )
    warm, hot = _Mark(WARM_C, start_c), _Mark(HOT_C, start_c)
    smelling, sour = _Mark(pace.amber_hours, 0.0), _Mark(pace.red_hours, 0.0)
    whole_airless = 0.0
    for moments in courses:
        hours, whole_airless = moments[0].hours, moments[0].airless_share
        hottest_c = max(moment.hottest_c for moment in moments)
        soured = max(
            faster * moment.souring_hours for faster, moment in zip(hastened, moments, strict=True)
        )
        for mark in (warm, hot):
            mark.look(hours, hottest_c)
        for mark in (smelling, sour):
            mark.look(hours, soured)
        if hours >= cap_hours or (hot.hours is not None and sour.hours is not None):
            break
    never = math.inf
    reds = {
        FreshnessLimit.CAP: cap_hours,
        FreshnessLimit.HEAT: never if hot.hours is None else hot.hours,
        FreshnessLimit.SOURING: never if sour.hours is None else sour.hours,
    }
    limit = min(reds, key=lambda word: reds[word])
    ambers = (warm.hours, smelling.hours, cap_hours * pace.amber_hours / pace.red_hours)
    return FreshnessClock(
        amber_hours=min([reds[limit], *(hours for hours in ambers if hours is not None)]),
        red_hours=reds[limit],
        free_air_space=material.air_filled_porosity,
        airless_share=whole_airless,
        airless_after_hours=hours_of_oxygen_in_pores(material, temperature_c=start_c),
        limit=limit,
        hours_to_warm=warm.hours,
        hours_to_hot=hot.hours,
    )


class _Mark:
    """The hour at which something first reaches a value; None while it has not."""

    def __init__(self, value: float, start: float) -> None:
        self._value = value
        self._hours_before, self._before = 0.0, start
        self.hours: float | None = None

    def look(self, hours: float, now: float) -> None:
        """Note the hour, between two moments by the straight line."""
        if self.hours is None and now >= self._value:
            before, was = self._hours_before, self._before
            share = 0.0 if was >= self._value else (self._value - was) / (now - was)
            self.hours = before + share * (hours - before)
        self._hours_before, self._before = hours, now
