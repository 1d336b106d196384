"""Where letters and names of a map stand: beside what they name, and over nothing else."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

Point = tuple[float, float]

# Around a mark, straight up first; a letter goes farther out only where all of these are taken.
DIRECTIONS: Final = tuple(
    (math.sin(turn * math.pi / 6), -math.cos(turn * math.pi / 6))
    for turn in (0, 1, 11, 2, 10, 3, 9, 4, 8, 5, 7, 6)
)
# How wide a letter of a name is, and how high its line, in its size: a common sans-serif, measured
# on drawings of this map.
LETTER_WIDE: Final = 0.58
LINE_HIGH: Final = 1.2
# A mark's own reach [units of the drawing].
MARK_REACH: Final = 13.0
# Rings around a mark that are tried: the farthest is across a drawing of 1000 units.
MOST_RINGS: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """What gets a letter: where it stands, and the line of its own way."""

    text: str
    at: Point
    way: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """A letter in a circle, and the end of the thread that leads to its mark."""

    text: str
    at: Point
    mark: Point
    has_thread: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """A name, its baseline's begin or end, and the box that it fills."""

    text: str
    at: Point
    anchor: str
    box: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """What a text fills."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Return whether two boxes share ground."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def reaches(self, point: Point, distance: float) -> bool:
        """Return whether a point lies nearer than a distance."""
        across = max(self.left - point[0], 0.0, point[0] - self.right)
        along = max(self.top - point[1], 0.0, point[1] - self.bottom)
        return math.hypot(across, along) < distance

    def is_within(self, wide: float, high: float) -> bool:
        """Return whether it lies on the drawing."""
        return self.left >= 0 and self.top >= 0 and self.right <= wide and self.bottom <= high


def around(mark: Point) -> Box:
    """Return what a mark of a place fills."""
    x, y = mark
    return Box(left=x - MARK_REACH, top=y - MARK_REACH, right=x + MARK_REACH, bottom=y + MARK_REACH)


def names_placed(
    named: Iterable[tuple[str, Point]], *, size: float, frame: Point, taken: Sequence[Box] = ()
) -> list[Name]:
    """Return the names that find room beside their marks: on no other name, on no mark of one.

    One that finds none is left out: the list of places beside the map has them all.
    """
    every = list(named)
    found: list[Name] = []
    for text, at in every:
        others = [point for other, point in every if (other, point) != (text, at)]
        for one in _names_beside(text, at, size=size):
            filled = [*taken, *(name.box for name in found)]
            if (
                one.box.is_within(*frame)
                and not any(one.box.meets(box) for box in filled)
                and not any(one.box.reaches(point, MARK_REACH) for point in others)
            ):
                found.append(one)
                break
    return found


def _names_beside(text: str, at: Point, *, size: float) -> Iterator[Name]:
    """Yield a name to the right of its mark, to the left, above and below."""
    wide, high = len(text) * size * LETTER_WIDE, size * LINE_HIGH
    x, y = at
    for left, middle, anchor in (
        (x + 18, y, "start"),
        (x - 18 - wide, y, "end"),
        (x - wide / 2, y - MARK_REACH - high / 2, "middle"),
        (x - wide / 2, y + MARK_REACH + high / 2, "middle"),
    ):
        box = Box(left=left, right=left + wide, top=middle - high / 2, bottom=middle + high / 2)
        begins = {"start": left, "end": left + wide, "middle": x}[anchor]
        yield Name(text=text, at=(begins, middle + size * 0.35), anchor=anchor, box=box)


def tags_placed(
    spots: Sequence[Spot],
    *,
    radius: float,
    frame: Point,
    marks: Sequence[Point] = (),
    taken: Sequence[Box] = (),
) -> list[Tag]:
    """Return a place for every letter: on no other letter, no name and none of its own way.

    Other marks are kept free where that costs no longer thread. Where its own way fills all around
    a mark, the letter may stand on it; on another letter or a name never.

    Parameters
    ----------
    spots
        What gets a letter.
    radius
        Of the circle that a letter stands in.
    frame
        How wide and high the drawing is.
    marks
        What else is drawn.
    taken
        Boxes of names.
    """
    found: list[Tag] = []
    for spot in spots:
        free = (
            at
            for at in _around(spot.at, radius, frame)
            if not any(math.dist(at, tag.at) < 2 * radius for tag in found)
            and not any(box.reaches(at, radius) for box in taken)
        )
        near = [mark for mark in marks if math.dist(mark, spot.at) < 6 * radius + MARK_REACH]
        at = _best(spot, free, near, radius)
        far = math.dist(at, spot.at) > radius + 2 * MARK_REACH
        found.append(Tag(text=spot.text, at=at, mark=spot.at, has_thread=far))
    return found


def _best(spot: Spot, free: Iterator[Point], near: Sequence[Point], radius: float) -> Point:
    """Return the nearest place off its own way, and among those as near the one over fewest marks.

    Nothing is looked at beyond the first ring on which one was found.
    """
    on_way: Point | None = None
    best: tuple[int, Point] | None = None
    ring = 0.0
    for at in free:
        distance = math.dist(at, spot.at)
        if best is not None and distance > ring + 1e-6:
            break
        if _touches(at, radius, spot.way):
            on_way = on_way or at
            continue
        ring = distance
        covered = sum(math.dist(at, mark) < radius + MARK_REACH / 2 for mark in near)
        if best is None or covered < best[0]:
            best = covered, at
        if covered == 0:
            break
    if best is not None:
        return best[1]
    return on_way or spot.at


def _around(mark: Point, radius: float, frame: Point) -> Iterator[Point]:
    """Yield places around a mark, ring by ring, those that lie whole on the drawing."""
    for ring in range(MOST_RINGS):
        reach = radius + MARK_REACH + ring * radius / 2
        for across, along in DIRECTIONS:
            at = mark[0] + across * reach, mark[1] + along * reach
            if radius <= at[0] <= frame[0] - radius and radius <= at[1] <= frame[1] - radius:
                yield at


def _touches(at: Point, radius: float, way: Sequence[Point]) -> bool:
    """Return whether a circle lies on a line."""
    return any(_apart(at, one, other) < radius for one, other in pairwise(way))


def _apart(point: Point, one: Point, other: Point) -> float:
    """Return how far a point is from a stretch of a line."""
    across, along = other[0] - one[0], other[1] - one[1]
    length = across * across + along * along
    share = 0.0
    if length:
        share = ((point[0] - one[0]) * across + (point[1] - one[1]) * along) / length
        share = min(max(share, 0.0), 1.0)
    return math.hypot(point[0] - one[0] - share * across, point[1] - one[1] - share * along)
