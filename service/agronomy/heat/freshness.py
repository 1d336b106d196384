"""How long clippings stay fresh in a heap, a body or a bag.

Two things sour grass: it runs out of air, and it has time. The share of a load
beyond the reach of air, and its temperature, set the clock.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from service.agronomy.estimates.validity import within
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen import aerobic_depth_mm, hours_of_oxygen_in_pores


class FreshnessLimit(StrEnum):
    """What set a clock."""

    CAP = "cap"
    SOURING = "souring"


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
        Share of the depth beyond the reach of air [1], 0 to 1.
    airless_after_hours
        Hours after which the air shut in there is used up [h].
    limit
        Whether souring or the cap set the red clock.
    """

    amber_hours: float
    red_hours: float
    airless_share: float
    airless_after_hours: float
    limit: FreshnessLimit


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
    open_faces: int,
    pace: SouringPace,
    cap_hours: float,
) -> FreshnessClock:
    """Return when a heap, a body or a bag turns amber and red.

    Parameters
    ----------
    material
        The clippings as they lie; their uptake must not be 0.
    depth_mm
        Depth between the faces [mm], 1 to 10,000.
    temperature_c
        Temperature of the clippings [C], -40 to 70: the core's if it was
        measured, else the air's. Frozen ones are taken to be at 0.
    open_faces
        0 a closed bag, 1 a body or a heap on the ground, 2 a layer on slats.
    pace
        How fast grass without air sours.
    cap_hours
        Red clock no load gets beyond, however airy [h], above 0 to 1000.

    Returns
    -------
    FreshnessClock
        Both clocks, from the cut, and what set them.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    hours = hours of oxygen in the pores
    + pace x Q10^((reference - T) / 10) / airless share, not above the cap;
    amber is capped at the same share of the cap as amber has of red. Dividing
    by the share makes the clock that of the sour mass: half as much airless
    grass takes twice as long to smell as bad. The oxygen part is physics; the
    pace is judgement, no source, so keep it in the rules.

    References
    ----------
    [common-practice] amber and red hours; [haug-1993] uptake behind the oxygen.
    """
    within("cap_hours", cap_hours, low=1e-3, high=1000, unit="h")
    within("temperature_c", temperature_c, low=-40, high=70, unit="C")
    temperature_c = max(0.0, temperature_c)
    share = airless_share(
        material, depth_mm=depth_mm, temperature_c=temperature_c, open_faces=open_faces
    )
    airless_after = hours_of_oxygen_in_pores(material, temperature_c=temperature_c)
    slowdown = pace.ratio_per_10_c ** ((pace.reference_c - temperature_c) / 10)
    if share == 0:
        souring_red = souring_amber = math.inf
    else:
        souring_amber = airless_after + pace.amber_hours * slowdown / share
        souring_red = airless_after + pace.red_hours * slowdown / share
    return FreshnessClock(
        amber_hours=min(souring_amber, cap_hours * pace.amber_hours / pace.red_hours),
        red_hours=min(souring_red, cap_hours),
        airless_share=share,
        airless_after_hours=airless_after,
        limit=FreshnessLimit.SOURING if souring_red < cap_hours else FreshnessLimit.CAP,
    )


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
