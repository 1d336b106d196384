"""How deep a layer may lie, and which limit says so."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.heat.halving import falling_root
from service.agronomy.heat.layer_heat import critical_depth_mm, layer_heat
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen import DEEPEST_MM, aerobic_depth_mm

# End of the range of a layer, and a hair against rounding.
_SHALLOWEST_MM: Final = 1.0
_HAIR: Final = 1e-9
# How much warmer than the air a layer may get: well below the 16 to 19 C at which it runs
# away, 1 / a to 1.19 / a of [frank-kamenetskii-1969]. Judgement, [common-practice].
GREATEST_RISE_C: Final = 10.0


class DepthLimit(StrEnum):
    """What keeps a layer from being deeper."""

    LEDGER = "ledger"
    PRACTICE = "practice"
    PHYSICS = "physics"


class PhysicalLimit(StrEnum):
    """Which of the two physical limits is met first."""

    OXYGEN = "oxygen"
    HEAT = "heat"


@dataclass(frozen=True, slots=True, kw_only=True)
class PhysicalDepth:
    """The depth nature allows, and what runs out first.

    Parameters
    ----------
    depth_mm
        Greatest depth [mm]; 0 where even a millimetre is too much, 10,000 (ten
        metres) where nothing limits it.
    limit
        Oxygen or heat.
    temperature_c
        Temperature at the ground side of that layer [C].
    """

    depth_mm: float
    limit: PhysicalLimit
    temperature_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeDepth:
    """The depth a layer may have, and the limit that binds.

    Parameters
    ----------
    depth_mm
        Greatest depth [mm], >= 0.
    binds
        The limit it comes from.
    considered
        Every limit that was given, with its depth [mm], in order of rank.
    """

    depth_mm: float
    binds: DepthLimit
    considered: tuple[tuple[DepthLimit, float], ...]


def physical_layer_depth(
    material: LayerMaterial,
    *,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
    oxygen_floor: float,
    greatest_temperature_c: float,
    greatest_rise_c: float = GREATEST_RISE_C,
) -> PhysicalDepth:
    """Return the deepest layer that stays aired and cool.

    Parameters
    ----------
    material
        The layer as it will lie, after settling; of a mixture the depth is that of all of it.
    air_temperature_c
        Temperature of the air over it [C], -40 to 50.
    surface_w_per_m2_k
        Heat passed from the open face to the air [W/m2/K], 1 to 100.
    oxygen_floor
        Least oxygen by volume at the ground side [1], 0 to below 0.2095.
    greatest_temperature_c
        Temperature not to be passed at the ground side [C], 0 to 70, unless the
        air alone comes near it.
    greatest_rise_c
        Rise over the air not to be passed [C], 0 to 15; half of it is allowed
        however hot the day.

    Returns
    -------
    PhysicalDepth
        Depth, the limit met first, and the temperature there.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    The greatest L with T(L) <= max(min(limit, air + rise), air + rise / 2) and
    L <= the aerobic depth at T(L): the whole layer is taken to breathe as fast
    as its warmest place, and at no less than the pace of 0 C, which errs towards
    thin. Both fail once and for all as L grows, so halving finds it.

    References
    ----------
    `aerobic_depth_mm` and `layer_heat`; [common-practice] the rise.
    """
    within("air_temperature_c", air_temperature_c, low=-40, high=50, unit="C")
    within("greatest_temperature_c", greatest_temperature_c, low=0, high=70, unit="C")
    within("greatest_rise_c", greatest_rise_c, low=0, high=15, unit="C")
    limit_c = max(
        min(greatest_temperature_c, air_temperature_c + greatest_rise_c),
        air_temperature_c + greatest_rise_c / 2,
    )

    def ground_c(depth_mm: float) -> float | None:
        return layer_heat(
            material,
            depth_mm=depth_mm,
            air_temperature_c=air_temperature_c,
            surface_w_per_m2_k=surface_w_per_m2_k,
        ).peak_temperature_c

    def too_warm(depth_mm: float) -> bool:
        temperature_c = ground_c(depth_mm)
        return temperature_c is None or temperature_c > limit_c

    def air_reserve_mm(depth_mm: float) -> float:
        temperature_c = ground_c(depth_mm)
        if temperature_c is None or temperature_c > limit_c:
            return -1.0
        reach_mm = aerobic_depth_mm(
            material, temperature_c=max(0.0, temperature_c), oxygen_floor=oxygen_floor
        )
        return reach_mm - depth_mm

    deepest_mm = critical_depth_mm(
        material, air_temperature_c=air_temperature_c, surface_w_per_m2_k=surface_w_per_m2_k
    )
    if deepest_mm <= _SHALLOWEST_MM or air_reserve_mm(_SHALLOWEST_MM) <= 0:
        return PhysicalDepth(
            depth_mm=0.0,
            limit=PhysicalLimit.HEAT if too_warm(_SHALLOWEST_MM) else PhysicalLimit.OXYGEN,
            temperature_c=air_temperature_c,
        )
    edge_mm = falling_root(air_reserve_mm, low=_SHALLOWEST_MM, high=deepest_mm)
    # A hair inside the edge, so that what is returned is itself safe.
    safe_mm = max(_SHALLOWEST_MM, edge_mm * (1 - _HAIR))
    beyond_mm = min(DEEPEST_MM, edge_mm * (1 + _HAIR))
    temperature_c = ground_c(safe_mm)
    return PhysicalDepth(
        depth_mm=safe_mm,
        limit=PhysicalLimit.HEAT if too_warm(beyond_mm) else PhysicalLimit.OXYGEN,
        temperature_c=air_temperature_c if temperature_c is None else temperature_c,
    )


def safe_layer_depth_mm(
    *,
    practice_mm: float,
    ledger_mm: float | None = None,
    physics_mm: float | None = None,
) -> SafeDepth:
    """Return the smallest of the depths that practice, ledger and physics allow.

    Parameters
    ----------
    practice_mm
        Depth by common practice [mm], 0 to 200: 12.7 mm (half an inch) of fresh
        clippings. Always given, so no other limit can loosen it.
    ledger_mm
        Room left by what lies there and by the year's limits [mm], >= 0; None
        where the bed has no ledger.
    physics_mm
        Depth that stays aired and cool [mm], >= 0; None where it was not
        computed.

    Returns
    -------
    SafeDepth
        The depth, the limit that binds, and all that were given.

    Raises
    ------
    OutsideValidity
        If a depth is negative or not finite.

    Notes
    -----
    A minimum. Of equal limits the one that is hardest to set aside is named:
    ledger, practice, physics, in this order.

    References
    ----------
    [common-practice] 12.7 mm, half an inch of fresh clippings.
    """
    within("practice_mm", practice_mm, low=0, high=200, unit="mm")
    given = (
        (DepthLimit.LEDGER, ledger_mm),
        (DepthLimit.PRACTICE, practice_mm),
        (DepthLimit.PHYSICS, physics_mm),
    )
    considered = tuple(
        (limit, within(f"{limit}_mm", depth_mm, low=0, high=1e5, unit="mm"))
        for limit, depth_mm in given
        if depth_mm is not None
    )
    binds, depth_mm = min(considered, key=lambda pair: pair[1])
    return SafeDepth(depth_mm=depth_mm, binds=binds, considered=considered)
