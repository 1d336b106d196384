"""How long clippings stay fresh in a heap, a body or a bag.

Two things sour grass: it runs out of air, and it has time. The share of a load
beyond the reach of air, and its temperature, set the clock.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from service.agronomy.estimates.validity import within
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen import aerobic_depth_mm, hours_of_oxygen_in_pores

if TYPE_CHECKING:
    from service.agronomy.heat.heap_course import HeapMoment

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
    """

    amber_hours: float
    red_hours: float
    reference_c: float
    ratio_per_10_c: float

    def __post_init__(self) -> None:
        """Refuse a pace no grass has."""
        within("red_hours", self.red_hours, low=1e-3, high=1000, unit="h")
        within("amber_hours", self.amber_hours, low=1e-3, high=self.red_hours, unit="h")
        within("reference_c", self.reference_c, low=0, high=50, unit="C")
        within("ratio_per_10_c", self.ratio_per_10_c, low=1, high=5, unit="1")


@dataclass(frozen=True, slots=True, kw_only=True)
class FreshnessClock:
    """When a load turns amber and red, counted from the cut.

    Parameters
    ----------
    amber_hours, red_hours
        Hours from the cut [h].
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
    Followed along `heap_course`. Red is the first of: its hottest place reaches 60 C, it is as
    sour as it would be after the pace's red hours without any air, the cap. Amber the first of:
    40 C, the pace's amber hours, the same share of the cap as amber has of red. Half as much
    airless grass takes twice as long to smell as bad. The heat is physics; the pace is judgement,
    no source, so keep it in the rules.

    References
    ----------
    `heap_course`; [cwmi-physics] 40 and 60 C, begin and end of the thermophilic stage;
    [common-practice] amber and red hours.
    """
    from service.agronomy.heat.heap_course import (  # noqa: PLC0415 - brings numpy; keys need none
        HeapMoment,
        heap_course,
    )

    within("cap_hours", cap_hours, low=1e-3, high=1000, unit="h")
    within("temperature_c", temperature_c, low=-40, high=70, unit="C")
    start_c = max(0.0, temperature_c)
    course = heap_course(
        material,
        depth_mm=depth_mm,
        temperature_c=start_c,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
        open_faces=open_faces,
        souring_reference_c=pace.reference_c,
        souring_ratio_per_10_c=pace.ratio_per_10_c,
    )
    before = HeapMoment(hours=0.0, hottest_c=start_c, airless_share=0.0, souring_hours=0.0)
    warm, hot = _Mark(WARM_C), _Mark(HOT_C)
    smelling, sour = _Mark(pace.amber_hours), _Mark(pace.red_hours)
    for moment in course:
        for mark in (warm, hot):
            mark.look(before, moment, before.hottest_c, moment.hottest_c)
        for mark in (smelling, sour):
            mark.look(before, moment, before.souring_hours, moment.souring_hours)
        before = moment
        if moment.hours >= cap_hours or (hot.hours is not None and sour.hours is not None):
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
        airless_share=before.airless_share,
        airless_after_hours=hours_of_oxygen_in_pores(material, temperature_c=start_c),
        limit=limit,
        hours_to_warm=warm.hours,
        hours_to_hot=hot.hours,
    )


class _Mark:
    """The hour at which something first reaches a value; None while it has not."""

    def __init__(self, value: float) -> None:
        self._value = value
        self.hours: float | None = None

    def look(self, before: "HeapMoment", now: "HeapMoment", was: float, becomes: float) -> None:
        """Note the hour, between two moments by the straight line."""
        if self.hours is None and becomes >= self._value:
            share = 0.0 if was >= self._value else (self._value - was) / (becomes - was)
            self.hours = before.hours + share * (now.hours - before.hours)


def share_of_life_used(stretches: Sequence[tuple[float, float]]) -> float:
    """Return how much of its fresh life a load has used up.

    Parameters
    ----------
    stretches
        For each place the load has been in: the hours there and the red clock
        of that place [h]; hours >= 0, clocks above 0.

    Returns
    -------
    float
        Used share [1]; at 1 the load is red. 0 for no stretch.

    Raises
    ------
    OutsideValidity
        If a time is negative or a clock not above 0.

    Notes
    -----
    Sum of hours / clock. The clock does not start anew when a load is moved
    from the body to a bay.

    References
    ----------
    [common-practice] shares of life add up, as for any perishable load.
    """
    return math.fsum(
        within("hours", hours, low=0, high=1e5, unit="h")
        / within("red_hours", red_hours, low=1e-6, high=1e5, unit="h")
        for hours, red_hours in stretches
    )
