"""How a heap of cut grass warms, runs out of air and sours: one course for every question.

Grass breathes and warms itself where air reaches it, and faster for being warm. The more it
breathes, the less far air gets in; beyond, there is no heat of breathing, and grass sours there.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.agronomy.estimates.validity import within
from service.agronomy.heat.thermal_properties import (
    HEAT_PER_OXYGEN_J_PER_G,
    heat_capacity_j_per_m3_k,
    thermal_conductivity_w_per_m_k,
)
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen_supply import (
    AIR_OXYGEN_FRACTION,
    effective_diffusivity_m2_per_s,
    oxygen_concentration_g_per_m3,
)
from service.agronomy.layers.oxygen_uptake import (
    DYING_PER_C,
    WARMING_PER_C,
    uptake_temperature_factor,
    volumetric_uptake_g_per_m3_s,
)
from service.core.measures.units import SECONDS_PER_HOUR

Numbers = NDArray[np.float64]

# Slices of the depth and length of a step: halving both moves the hours to 60 C by less than
# one in twenty (a test holds it); within that range they are a choice, common practice, no source.
_SLICES: Final = 16
_STEP_S: Final = 600.0
# End of the range of the breathing; what happens above is not asked.
HOTTEST_C: Final = 70.0
# What an answer says of itself, in plain words.
BASIS: Final = (
    "Worked out along the course of a heap of likely grass that lies still: it warms itself where "
    "air reaches it by diffusion and sours where it does not. For the first two days of green "
    "clippings; not for heaps that are turned or blown, for coarse wood, nor for dry hay. A "
    "thermometer goes before it."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeapMoment:
    """A heap at one moment.

    Parameters
    ----------
    hours
        Since it was heaped [h].
    hottest_c
        Temperature of its hottest slice [C]; 70 stands for 70 and more.
    airless_share
        Share of the depth that has neither air from outside nor any left in its pores [1].
    souring_hours
        Hours that all of it would have to lie without air at the reference temperature to be as
        sour as it is [h].
    """

    hours: float
    hottest_c: float
    airless_share: float
    souring_hours: float


def heap_courses(
    materials: Sequence[LayerMaterial],
    *,
    depth_mm: float,
    temperature_c: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
    open_faces: int,
    souring_reference_c: float,
    souring_ratio_per_10_c: float,
) -> Iterator[tuple[HeapMoment, ...]]:
    """Yield the moments of several heaps, ten minutes apart, for as long as they are asked for.

    Parameters
    ----------
    materials
        The clippings as they lie, one of each heap.
    depth_mm
        Depth between the faces [mm], 1 to 10,000.
    temperature_c
        Temperature of the clippings at the beginning [C], 0 to 70.
    air_temperature_c
        Temperature of the air around [C], -40 to 50.
    surface_w_per_m2_k
        Heat passed from a face to the air [W/m2/K], 1 to 100.
    open_faces
        Faces air gets in by: 0 a closed bag, 1 a body, a bed or a heap on the ground, 2 a layer
        on slats. A bag loses heat by one face all the same.
    souring_reference_c, souring_ratio_per_10_c
        Temperature at which an hour without air counts as one [C], 0 to 50, and how much more it
        counts at 10 C more (Q10) [1], 1 to 5.

    Yields
    ------
    tuple
        A moment of each heap, from the first ten minutes on.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    rho c dT/dt = k T'' + q. q is oxygen uptake x 14 kJ/g where there is oxygen, else 0. Air gets
    as deep as C0 = sum of z R(T) dz / D: zero-order uptake in a steady profile, as in
    `aerobic_depth_mm`, with R differing by slice. Deeper slices use up what their pores hold
    first. Backward Euler in time; -k T' = h (T - Ta) at the face, no heat into the ground. The
    hour without air counts ratio^((T - reference) / 10), averaged over the depth.

    It holds for the first two days of green clippings that lie still. It does not hold for heaps
    that are turned, blown or rich in coarse wood, whose warmth draws air in (chimney), nor for
    dry hay (see `heap_caution`). Not in it: heat carried off by steam and heat of fermenting.
    The first errs towards hot, the second towards cool, by a few degrees.

    References
    ----------
    [haug-1993] uptake by temperature and heat per oxygen; [muck-pitt-1994] oxygen enters by
    diffusion and is used near the face; [takano-1983] 50.8 C near the face and 34.9 C below
    after 48 hours open; the README of this folder has the figures.
    """
    within("depth_mm", depth_mm, low=1, high=10_000, unit="mm")
    within("temperature_c", temperature_c, low=0, high=HOTTEST_C, unit="C")
    within("air_temperature_c", air_temperature_c, low=-40, high=50, unit="C")
    within("surface_w_per_m2_k", surface_w_per_m2_k, low=1, high=100, unit="W/m2/K")
    within("open_faces", open_faces, low=0, high=2, unit="1")
    heaps = _Heaps(
        materials,
        slice_m=depth_mm / 1000 / max(1, open_faces) / _SLICES,
        temperature_c=temperature_c,
        air_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
        airy=open_faces > 0,
    )
    hours, souring = 0.0, np.zeros(len(materials))
    while True:
        airless = heaps.step()
        pace = souring_ratio_per_10_c ** ((heaps.temperature_c - souring_reference_c) / 10)
        hours += _STEP_S / SECONDS_PER_HOUR
        souring = souring + (airless * pace).mean(axis=1) * _STEP_S / SECONDS_PER_HOUR
        yield tuple(
            HeapMoment(
                hours=hours,
                hottest_c=min(HOTTEST_C, hottest_c),
                airless_share=share,
                souring_hours=soured,
            )
            for hottest_c, share, soured in zip(
                heaps.temperature_c.max(axis=1).tolist(),
                airless.mean(axis=1).tolist(),
                souring.tolist(),
                strict=True,
            )
        )


class _Heaps:
    """Slices of heaps from their open face inwards, and what they are at: a row a heap."""

    def __init__(
        self,
        materials: Sequence[LayerMaterial],
        *,
        slice_m: float,
        temperature_c: float,
        air_c: float,
        surface_w_per_m2_k: float,
        airy: bool,
    ) -> None:
        self._slice_m, self._air_c, self._airy = slice_m, air_c, airy
        self.temperature_c: Numbers = np.full((len(materials), _SLICES), temperature_c)
        at = max(0.0, temperature_c)
        self._air_g_per_m3 = oxygen_concentration_g_per_m3(
            oxygen_fraction=AIR_OXYGEN_FRACTION, temperature_c=at
        )

        def each(values: list[float]) -> Numbers:
            return np.array(values)[:, None]

        self._stored_g_per_m3 = self._air_g_per_m3 * np.repeat(
            each([material.air_filled_porosity for material in materials]), _SLICES, axis=1
        )
        at_20 = uptake_temperature_factor(20)
        self._uptake_at_20_g_per_m3_s = each(
            [
                volumetric_uptake_g_per_m3_s(material, temperature_c=20) / at_20
                for material in materials
            ]
        )
        # Grows by a tenth from 20 to 40 C; the air in a warming heap is taken as it began.
        self._diffusivity_m2_per_s = each(
            [effective_diffusivity_m2_per_s(material, temperature_c=at) for material in materials]
        )
        self._middle_m = (np.arange(_SLICES) + 0.5) * slice_m
        self._held_j_per_m2_k = each(
            [heat_capacity_j_per_m3_k(material) * slice_m for material in materials]
        )
        conductivity = each([thermal_conductivity_w_per_m_k(material) for material in materials])
        self._lost_w_per_m2_k = 1 / (1 / surface_w_per_m2_k + slice_m / 2 / conductivity)
        self._solved = np.linalg.inv(self._balances(conductivity / slice_m))

    def _balances(self, passed_w_per_m2_k: Numbers) -> Numbers:
        """Return the matrix of a step of each heap: what a slice holds, passes on and loses."""
        matrix: Numbers = np.zeros((len(passed_w_per_m2_k), _SLICES, _SLICES))
        inner = np.arange(_SLICES - 1)
        matrix[:, inner, inner] += passed_w_per_m2_k
        matrix[:, inner + 1, inner + 1] += passed_w_per_m2_k
        matrix[:, inner, inner + 1] = -passed_w_per_m2_k
        matrix[:, inner + 1, inner] = -passed_w_per_m2_k
        matrix[:, 0, 0] += self._lost_w_per_m2_k[:, 0]
        every = np.arange(_SLICES)
        matrix[:, every, every] += self._held_j_per_m2_k / _STEP_S
        return matrix

    def step(self) -> Numbers:
        """Go on by ten minutes; return the share of each slice that has no air."""
        at = np.clip(self.temperature_c, 0.0, HOTTEST_C)
        wanted = self._uptake_at_20_g_per_m3_s * (
            WARMING_PER_C ** (at - 20) - DYING_PER_C ** (at - 60)
        )
        aired = self._aired(wanted)
        from_pores = np.minimum((1 - aired) * wanted * _STEP_S, self._stored_g_per_m3)
        self._stored_g_per_m3 = self._stored_g_per_m3 - from_pores
        used = aired * wanted + from_pores / _STEP_S
        given = self._held_j_per_m2_k / _STEP_S * self.temperature_c
        given = given + used * HEAT_PER_OXYGEN_J_PER_G * self._slice_m
        given[:, 0] += self._lost_w_per_m2_k[:, 0] * self._air_c
        # Beyond the range of the breathing nothing is known; a slice is held at its end.
        self.temperature_c = np.minimum((self._solved @ given[:, :, None])[:, :, 0], HOTTEST_C)
        # A tenth of a step on what pores held is no air.
        breathed = used / np.where(wanted > 0, wanted, math.inf)
        return np.asarray(np.where(wanted > 0, 1 - breathed, 0.0), dtype=np.float64)

    def _aired(self, wanted_g_per_m3_s: Numbers) -> Numbers:
        """Return the share of each slice that air from the face keeps supplied."""
        reached = self._airy & (self._diffusivity_m2_per_s > 0)
        through = np.where(reached, self._diffusivity_m2_per_s, 1.0)
        drop = self._middle_m * wanted_g_per_m3_s * self._slice_m / through
        left = self._air_g_per_m3 - (np.cumsum(drop, axis=1) - drop)
        safe = np.where(drop > 0, drop, 1.0)
        share = np.where(drop > 0, np.clip(left / safe, 0.0, 1.0), 1.0)
        return np.asarray(np.where(reached, share, 0.0), dtype=np.float64)
