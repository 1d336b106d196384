"""What large tips cost besides, where only so many of them find room.

A price per kilogram lets a mixture of tip plans share a bed half and half. A *cut* says what whole
plans can do: of tips that take more than half of the room only one fits. It gives a tip points: one
from ``starts_kg[0]`` kilograms on, two from ``starts_kg[1]``, and so on, such that tips which fit
together have no more than ``most`` points. The price of a cut is a toll on tips, by their points.

Points are given in two ways. In r + 1 *even* slices of the room and a few kilograms more, a tip has
a point for every whole slice: together they have at most r, because the sum of whole slices is no
more than the slices of the sum (Gomory, 1958, "Outline of an algorithm for integer solutions to
linear programs": rounding of a row). In *uneven* shares, a tip has a point from t kg on, at least a
third of the room, and two from where no tip of t kg fits beside it: together they have at most 2
(Fekete and Schepers, 2001, "New classes of fast lower bounds for bin packing problems": functions
of this form). Both titles are from memory, unverified; the tests hold cuts against random tips.

Overflow is allowed at its price. Tips with k points too many overfill by at least k ``spare_kg``:
a bound holds as long as a kilogram of overflow costs no less than its scarcity price and, for each
cut, the price divided by ``spare_kg``.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.inputs import NO_CAP
from service.planning.arrays.tables import Whole

SPARE_KG = 10  # by so much tips overfill that have a point too many
LEAST_SPARE_KG = 5  # of several points too many, each
RELIEVED = 0.7  # of the price of overflow, at most: the rest still keeps a bound from overfilling
EVEN = (1, 2, 3, 5)  # points that fit; more gain little
THIRDS = 3


@dataclass(frozen=True, slots=True, order=True)
class Cut:
    """Tips that fit together at a destination have at most so many points."""

    number: int  # the destination
    starts_kg: tuple[int, ...]
    most: int
    spare_kg: int

    def points(self, kg: int) -> int:
        """Return the points of a tip of so many kilograms."""
        return sum(kg >= start for start in self.starts_kg)


def even(number: int, room_kg: int, most: int) -> Cut | None:
    """Return the cut by even slices of the room, of which so many fit as a whole."""
    whole, parts = room_kg + SPARE_KG, most + 1
    return _sound(number, room_kg, tuple(-(-whole * k // parts) for k in range(1, parts)), most)


def uneven(number: int, room_kg: int, kg: int) -> Cut | None:
    """Return the cut in which a tip of so many kilograms is the least with a point, if it is one.

    It is one for a third to a half of the room; for more, what fits beside it takes its part.
    """
    whole = room_kg + SPARE_KG
    start = min(kg, whole - kg)
    if start * THIRDS < whole:
        return None
    return _sound(number, room_kg, (start, whole - start), 2)


def _sound(number: int, room_kg: int, starts_kg: tuple[int, ...], most: int) -> Cut | None:
    """Return the cut if tips with too many points do overfill, with how much they do at least."""
    spare = _spare(room_kg, starts_kg, most)
    return None if spare < LEAST_SPARE_KG else Cut(number, starts_kg, most, spare)


@functools.lru_cache(maxsize=4096)
def _spare(room_kg: int, starts_kg: tuple[int, ...], most: int) -> int:
    """Return by how much tips overfill at least, a point too many; 0 if they need not."""
    many = 2 * most + len(starts_kg)
    least = [0] + [NO_CAP] * many  # kilograms of tips with so many points
    for points in range(1, many + 1):
        for k, start in enumerate(starts_kg, start=1):
            least[points] = min(least[points], start + least[max(points - k, 0)])
    spares = [(least[v] - room_kg) // (v - most) for v in range(most + 1, many + 1)]
    # with still more points, at the least kilograms a point: the more, the larger is what is spare
    a_point = min(start // k for k, start in enumerate(starts_kg, start=1))
    spares.append((a_point * (many + 1) - room_kg) // (many + 1 - most))
    return 0 if a_point * most > room_kg else min(spares)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolls:
    """What a tip costs besides from so many kilograms on, by destination.

    Attributes
    ----------
    kg
        By destination and step, from how many kilograms on; where there are none, more than any.
    cost
        All tolls from there on [units].
    relief
        By so much a kilogram of overflow is cheaper in a bound, by destination [units].
    """

    kg: Whole
    cost: Whole
    relief: Whole

    @classmethod
    def none(cls, count: int) -> Tolls:
        """Return no tolls for so many destinations."""
        empty = np.zeros((count, 0), dtype=np.int64)
        return cls(kg=empty, cost=empty, relief=np.zeros(count, dtype=np.int64))

    @classmethod
    def of(cls, cuts: list[Cut], prices: Whole, count: int) -> Tolls:
        """Return the tolls that cuts cost at these prices, a price a cut [units a point]."""
        at: dict[int, dict[int, int]] = {}
        relief = np.zeros(count, dtype=np.int64)
        for cut, price in zip(cuts, prices.tolist(), strict=True):
            if price > 0:
                steps = at.setdefault(cut.number, {})
                for start in cut.starts_kg:
                    steps[start] = steps.get(start, 0) + price
                relief[cut.number] += -(-price // cut.spare_kg)
        width = max((len(steps) for steps in at.values()), default=0)
        kg: Whole = np.full((count, width), NO_CAP, dtype=np.int64)
        cost: Whole = np.zeros((count, width), dtype=np.int64)
        for number, steps in at.items():
            paid = 0
            for place, (start, more) in enumerate(sorted(steps.items())):
                paid += more
                kg[number, place], cost[number, place:] = start, paid
        return cls(kg=kg, cost=cost, relief=relief)


def within_overflow(cuts: list[Cut], of_cuts: Whole, prices: Whole, overflow: int) -> Whole:
    """Return prices of cuts at which a kilogram of overflow still costs enough, see above."""
    load, count = np.zeros(len(prices)), np.zeros(len(prices), dtype=np.int64)
    for cut, price in zip(cuts, of_cuts.tolist(), strict=True):
        load[cut.number] += price / cut.spare_kg
        count[cut.number] += 1  # each is rounded up
    spared = np.maximum(int(overflow * RELIEVED) - prices - count, 0)
    share = np.minimum(1.0, spared / np.maximum(load, 1.0))
    return np.array(
        [int(price * share[cut.number]) for cut, price in zip(cuts, of_cuts.tolist(), strict=True)],
        dtype=np.int64,
    )


def violated(
    room: Whole, mixture: Iterable[tuple[int, int, float]], known: set[Cut], most: float
) -> list[Cut]:
    """Return the cuts that a mixture of tip plans breaks, for each destination the worst new one.

    Parameters
    ----------
    mixture
        Destination, kilograms and weight of every tip of it.
    most
        By how much of its points a cut may be broken.
    """
    tips: dict[int, dict[int, float]] = {}
    for number, kg, weight in mixture:
        here = tips.setdefault(number, {})
        within = min(kg, int(room[number]))
        here[within] = here.get(within, 0.0) + weight
    worst: list[Cut] = []
    for number, here in sorted(tips.items()):
        size, furthest, found = int(room[number]), most, None
        if not any(weight < 1 - most for weight in here.values()):
            continue
        cuts = [even(number, size, points) for points in EVEN]
        for cut in [*cuts, *(uneven(number, size, kg) for kg in sorted(here))]:
            if cut is None or cut in known:
                continue
            broken = sum(cut.points(kg) * weight for kg, weight in here.items()) / cut.most - 1
            if broken > furthest:
                furthest, found = broken, cut
        if found is not None:
            worst.append(found)
    return worst
