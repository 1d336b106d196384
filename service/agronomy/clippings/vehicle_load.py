"""What a vehicle may still take, judged at the wet end: mass and volume.

Full is not a weight. A body that looks half empty can be over its limit, so the
mass aboard counts with its high end until it is weighed.
"""

import math
from dataclasses import dataclass

from service.agronomy.estimates.validity import within
from service.core.errors import Refusal
from service.core.measures.units import LITRES_PER_M3


class VehicleOverloaded(Refusal):
    """The load does not fit, or weighs more than a limit allows."""

    code = "vehicle_overloaded"
    sentence = "{limit}: {value} {unit} against {allowed} {unit} allowed, {over_percent} % over."


class VehicleLimitMissing(Refusal):
    """Neither a payload nor gross limit and tare are known."""

    code = "vehicle_limit_missing"
    sentence = "The payload is not known: enter it, or the gross limit and the tare."


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleLimits:
    """What a vehicle may carry, as far as it is known.

    Parameters
    ----------
    payload_kg
        Mass it may carry [kg]; None if only gross limit and tare are known.
    gross_limit_kg, tare_kg
        Plated gross mass and mass empty with crew, fuel and tools [kg].
    body_volume_m3
        Volume of the body, level [m3].
    """

    body_volume_m3: float
    payload_kg: float | None = None
    gross_limit_kg: float | None = None
    tare_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Aboard:
    """What is on the vehicle.

    Parameters
    ----------
    mass_high_kg
        Mass at its high end, or as weighed [kg].
    volume_high_m3
        Volume at its high end [m3].
    """

    mass_high_kg: float
    volume_high_m3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Room left for material of a given wetness and packing.

    Parameters
    ----------
    mass_kg, volume_litres
        What may still be loaded [kg], [L], both at the wet end.
    bags
        Whole bags of the size asked for; None if none was.
    binding
        "payload" or "body_volume": which runs out first.
    """

    mass_kg: float
    volume_litres: float
    bags: int | None
    binding: str


def payload_kg(limits: VehicleLimits) -> float:
    """Return the mass a vehicle may carry [kg]: the smaller of what is known.

    Parameters
    ----------
    limits
        Its limits.

    Raises
    ------
    VehicleLimitMissing

    Notes
    -----
    payload = gross limit - tare; where a payload is entered too, the smaller.
    """
    found = [] if limits.payload_kg is None else [limits.payload_kg]
    if limits.gross_limit_kg is not None and limits.tare_kg is not None:
        found.append(max(limits.gross_limit_kg - limits.tare_kg, 0.0))
    if not found:
        raise VehicleLimitMissing
    return min(found)


def room_left(
    limits: VehicleLimits,
    aboard: Aboard,
    *,
    density_high_kg_per_m3: float,
    density_low_kg_per_m3: float,
    bag_litres: float | None = None,
) -> Room:
    """Return what may still be loaded, never more than at the wet end.

    Parameters
    ----------
    limits
        Limits of the vehicle.
    aboard
        What is on it.
    density_high_kg_per_m3, density_low_kg_per_m3
        Heaviest and lightest the next material may be [kg/m3]: the heavy end
        limits what fits by weight, the light end what fits by volume.
    bag_litres
        Size of a bag [L]; None if bags are not wanted.

    Raises
    ------
    OutsideValidity, VehicleLimitMissing
    """
    within("density_low_kg_per_m3", density_low_kg_per_m3, low=5, high=1500, unit="kg/m3")
    within(
        "density_high_kg_per_m3",
        density_high_kg_per_m3,
        low=density_low_kg_per_m3,
        high=1500,
        unit="kg/m3",
    )
    by_weight_kg = max(payload_kg(limits) - aboard.mass_high_kg, 0.0)
    free_m3 = max(limits.body_volume_m3 - aboard.volume_high_m3, 0.0)
    by_weight_m3 = by_weight_kg / density_high_kg_per_m3
    litres = min(by_weight_m3, free_m3) * LITRES_PER_M3
    bags = None
    if bag_litres is not None:
        within("bag_litres", bag_litres, low=1, high=5000, unit="L")
        bags = math.floor(litres / bag_litres + 1e-9)
    return Room(
        mass_kg=min(by_weight_kg, free_m3 * density_low_kg_per_m3),
        volume_litres=litres,
        bags=bags,
        binding="payload" if by_weight_m3 <= free_m3 else "body_volume",
    )


def check_load(limits: VehicleLimits, aboard: Aboard) -> None:
    """Refuse a load over the payload or the body, with the figures.

    Parameters
    ----------
    limits
        Limits of the vehicle.
    aboard
        What is on it, or would be.

    Raises
    ------
    VehicleOverloaded, VehicleLimitMissing
    """
    _refuse_over("payload", aboard.mass_high_kg, payload_kg(limits), "kg")
    _refuse_over("body volume", aboard.volume_high_m3, limits.body_volume_m3, "m3")


def _refuse_over(limit: str, value: float, allowed: float, unit: str) -> None:
    # A hair of rounding is not an overload.
    if value > allowed * (1 + 1e-9) + 1e-9:
        raise VehicleOverloaded(
            limit=limit,
            value=round(value, 1),
            allowed=round(allowed, 1),
            unit=unit,
            over_percent=round(100 * (value / allowed - 1)) if allowed > 0 else "infinitely many",
        )
