"""What is wrong with the arguments of a computation together, each at its own argument.

What the computation itself would refuse first is asked here part by part, so that all of it is
told at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import pairwise
from types import MappingProxyType
from typing import Any, Final

from service.agronomy.clippings.vehicle_load import (
    Aboard,
    VehicleLimits,
    check_load,
    payload_kg,
)
from service.core.crews import tare_faults
from service.core.errors import FieldFault, Refusal
from service.usecases.compute import lots, mixes, waits
from service.usecases.compute.looked_up import LookedUp

Values = Mapping[str, Any]
# A dry day of summer: in it nothing but the layer or the goal can be out of reach.
FINE: Final[dict[str, Any]] = {
    "temperature_c": 20.0,
    "relative_humidity": 0.5,
    "solar_w_per_m2": 400.0,
}
THIN_MM: Final = 20.0


def faults_of(looked_up: LookedUp, name: str, values: Values) -> list[FieldFault]:
    """Return what is wrong with those arguments of a computation that can be read.

    Parameters
    ----------
    name
        Of the computation's function.
    values
        Its arguments; in a list, None stands for what cannot be read.
    """
    find = _FINDING.get(name)
    return [] if find is None else [*find(looked_up, values)]


def _tried(pointer: str, act: Callable[[], object]) -> list[FieldFault]:
    """Return what an act is refused for, as a fault of the argument that it is about."""
    try:
        act()
    except Refusal as refusal:
        return [FieldFault(pointer=pointer, detail=str(refusal), code=refusal.code)]
    return []


def _estimate(looked_up: LookedUp, values: Values) -> Iterator[FieldFault]:
    removed_mm, before_mm = values.get("height_removed_mm"), values.get("height_before_mm")
    if removed_mm is not None:
        yield from _tried(
            "/height_removed_mm",
            lambda: lots.estimate(
                looked_up, area_m2=1.0, height_removed_mm=removed_mm, height_before_mm=before_mm
            ),
        )


def _drying(looked_up: LookedUp, values: Values) -> Iterator[FieldFault]:
    goal, depth_mm = values.get("goal_moisture"), values.get("depth_mm")
    grass: dict[str, Any] = {name: values[name] for name in ("wetness",) if name in values}
    weather: dict[str, Any] = {name: values.get(name) for name in FINE}
    yield from _tried(
        "/goal_moisture",
        lambda: lots.drying(looked_up, depth_mm=THIN_MM, goal_moisture=goal, **grass, **FINE),
    )
    if None in weather.values():
        return  # practice answers, of any layer
    if depth_mm is not None:
        yield from _tried(
            "/depth_mm", lambda: lots.drying(looked_up, depth_mm=depth_mm, **grass, **FINE)
        )
    yield from _tried(
        "/relative_humidity", lambda: lots.drying(looked_up, depth_mm=THIN_MM, **grass, **weather)
    )


def _mix(looked_up: LookedUp, values: Values) -> Iterator[FieldFault]:
    materials, browns = values.get("materials"), values.get("browns", ())
    found = [
        fault
        for number, heaped in enumerate(materials or ())
        if heaped is not None
        for fault in _of_material(looked_up, heaped, f"/materials/{number}")
    ]
    for number, name in enumerate(browns):
        if name is not None:
            brown = mixes.Heaped(material=name, mass_kg=0.0)
            found += _tried(f"/browns/{number}", partial(mixes.ingredient, looked_up, brown))
    yield from found
    if found or materials is None or None in materials or None in browns:
        return
    whole = {**values, "browns": ()}
    empty = _tried("/materials", lambda: mixes.mix(looked_up, **whole))
    yield from empty or (
        _tried("/browns", lambda: mixes.mix(looked_up, **values)) if browns else []
    )


def _of_material(looked_up: LookedUp, heaped: mixes.Heaped, pointer: str) -> Iterator[FieldFault]:
    try:
        mixes.ingredient(looked_up, heaped)
    except mixes.MaterialUnknown as refusal:
        yield FieldFault(pointer=f"{pointer}/material", detail=str(refusal), code=refusal.code)
    except Refusal as refusal:
        known = heaped.carbon_to_nitrogen is None
        at = "nitrogen_fraction" if known else "carbon_to_nitrogen"
        yield FieldFault(pointer=f"{pointer}/{at}", detail=str(refusal), code=refusal.code)


def _vehicle_room(_: LookedUp, values: Values) -> Iterator[FieldFault]:
    gross_kg, tare_kg = values.get("gross_limit_kg"), values.get("tare_kg")
    odd = tare_faults(gross_kg, tare_kg)
    yield from odd
    limits = VehicleLimits(
        body_volume_m3=values.get("body_volume_m3", float("inf")),
        payload_kg=values.get("payload_kg"),
        gross_limit_kg=gross_kg,
        tare_kg=None if odd else tare_kg,
    )
    missing = _tried("/payload_kg", lambda: payload_kg(limits))
    if missing:
        yield from [] if odd else missing
        limits = replace(limits, payload_kg=float("inf"))
    mass_kg, volume_m3 = (values.get(name, 0.0) for name in ("aboard_mass_kg", "aboard_volume_m3"))
    heavy = Aboard(mass_high_kg=mass_kg, volume_high_m3=0.0)
    bulky = Aboard(mass_high_kg=0.0, volume_high_m3=volume_m3)
    yield from _tried("/aboard_mass_kg", lambda: check_load(limits, heavy))
    yield from _tried("/aboard_volume_m3", lambda: check_load(limits, bulky))


def _kill(looked_up: LookedUp, values: Values) -> Iterator[FieldFault]:
    if {"standard", "process"} <= values.keys():
        case = {"standard": values["standard"], "process": values["process"]}
        known = looked_up.rulebook.words_of("kill_hours_min", "standard")
        pointer = "/process" if case["standard"] in known else "/standard"
        yield from _tried(pointer, lambda: waits.kill(looked_up, **case, readings=(), turnings=0))
    readings = values.get("readings", ())
    for number, (one, after) in enumerate(pairwise(readings), 1):
        if one is not None and after is not None and after[0] <= one[0]:
            detail = f"The hour {after[0]:g} is not after the one before it, {one[0]:g}."
            yield FieldFault(pointer=f"/readings/{number}/hour", detail=detail, code="out_of_order")


_FINDING: Final[Mapping[str, Callable[[LookedUp, Values], Iterator[FieldFault]]]] = (
    MappingProxyType(
        {
            lots.estimate.__name__: _estimate,
            lots.drying.__name__: _drying,
            mixes.mix.__name__: _mix,
            waits.vehicle_room.__name__: _vehicle_room,
            waits.kill.__name__: _kill,
        }
    )
)
