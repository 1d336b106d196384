"""The day drawn by the server: the firm's own points, no tiles, nothing fetched."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from service.pages.day.labels import Box, Name, Spot, Tag, around, names_placed, tags_placed

Members = Mapping[str, Any]
Point = tuple[float, float]

WIDTH: Final = 1000.0
MARGIN: Final = 45.0
LOWEST, HIGHEST = 480.0, 1000.0
# A point alone, or points that all lie at one spot, still make a map some 500 m wide.
LEAST_SPAN_DEG: Final = 0.005
KILOMETRE_M: Final = 1000
NAMED: Final = frozenset({"compost_site", "depot"})
# The size of names, and the reach of a letter's circle, on a desk and on a telephone.
SIZES: Final = {"desk": (22.0, 17.0), "hand": (38.0, 30.0)}
MARKS: Final = {"job": "job", "pick_up": "pick_up", "load_held": "hold_bay"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A vehicle's way: what is done, what is ahead, and which mark its letter is of."""

    letter: str
    done: str
    ahead: str
    at: Point
    line: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """Letters and names in a size: a telephone draws the map a third as large as a desk."""

    size: float
    radius: float
    tags: tuple[Tag, ...]
    names: tuple[Name, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A place on the map."""

    kind: str
    x: float
    y: float
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayMap:
    """All that is drawn, in units of the drawing."""

    height: float
    ways: tuple[Way, ...]
    marks: tuple[Mark, ...]
    scale: tuple[float, str]
    lettering: Mapping[str, Lettering]


def day_map(routing: Members, depot: Point, *, letters: Mapping[str, str]) -> DayMap:
    """Return the map of a routing.

    Parameters
    ----------
    routing
        As `told_routing` tells it.
    depot
        Longitude and latitude [degree].
    letters
        A letter for each vehicle, by its id.
    """
    used = [place for place in routing["destinations"] if _is_shown(place)]
    stops = [stop for vehicle in routing["vehicles"] for stop in vehicle["stops"]]
    project, height, unit_m = _projection([depot, *map(_point, stops), *map(_point, used)])
    marks = [Mark(kind="depot", name="The yard", x=project(depot)[0], y=project(depot)[1])]
    for place in used:
        x, y = project(_point(place))
        marks.append(Mark(kind=place["destination_kind"], name=place["name"], x=x, y=y))
    for stop in stops:
        if stop["kind"] != "drop":
            x, y = project(_point(stop))
            kind = "lawn-done" if stop["done"] else MARKS.get(stop["kind"], "pick_up")
            marks.append(Mark(kind=kind, name=stop.get("property", ""), x=x, y=y))
    ways = tuple(_ways(routing["vehicles"], depot, project, letters))
    scale = _scale(unit_m)
    return DayMap(
        height=height,
        ways=ways,
        marks=tuple(marks),
        scale=scale,
        lettering={
            name: _lettered(ways, marks, (WIDTH, height), scale=scale, size=size, radius=radius)
            for name, (size, radius) in SIZES.items()
        },
    )


def _lettered(
    ways: Sequence[Way],
    marks: Sequence[Mark],
    frame: Point,
    *,
    scale: tuple[float, str],
    size: float,
    radius: float,
) -> Lettering:
    """Return where letters and names stand in a size, clear of each other and of the scale."""
    corner = Box(left=0, top=frame[1] - 40 - size, right=60 + scale[0], bottom=frame[1])
    named = [(mark.name, (mark.x, mark.y)) for mark in marks if mark.kind in NAMED]
    names = names_placed(named, size=size, frame=frame, taken=[corner])
    return Lettering(
        size=size,
        radius=radius,
        names=tuple(names),
        tags=tuple(
            tags_placed(
                [Spot(text=way.letter, at=way.at, way=way.line) for way in ways],
                radius=radius,
                frame=frame,
                marks=sorted({(mark.x, mark.y) for mark in marks}),
                taken=[corner, *(name.box for name in names), *(around(at) for _, at in named)],
            )
        ),
    )


def _ways(
    vehicles: Iterable[Members],
    depot: Point,
    project: Callable[[Point], Point],
    letters: Mapping[str, str],
) -> Iterator[Way]:
    for vehicle in vehicles:
        stops: Sequence[Members] = vehicle["stops"]
        if not stops:
            continue
        done = [stop for stop in stops if stop["done"]]
        ahead = [stop for stop in stops if not stop["done"]]
        last = _point(done[-1]) if done else depot
        yield Way(
            letter=letters[vehicle["vehicle_id"]],
            done=_path(map(project, [depot, *map(_point, done)])) if done else "",
            ahead=_path(map(project, [last, *map(_point, ahead)])) if ahead else "",
            at=project(_point(ahead[0]) if ahead else last),
            line=tuple(map(project, [depot, *map(_point, stops)])),
        )


def _is_shown(place: Members) -> bool:
    """Return whether a destination is drawn: beds only where something goes."""
    return place["destination_kind"] != "bed" or bool(place["loads"])


def _point(place: Members) -> Point:
    return place["longitude"], place["latitude"]


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in points)


def _projection(points: Sequence[Point]) -> tuple[Callable[[Point], Point], float, float]:
    """Return where points are drawn, the height of the drawing, and metres a unit.

    Equirectangular around the middle latitude: over a firm's day it is out by less than a line.
    """
    longitudes, latitudes = zip(*points, strict=True)
    middle = (min(latitudes) + max(latitudes)) / 2
    shrink = max(math.cos(math.radians(middle)), 0.01)
    wide = max((max(longitudes) - min(longitudes)) * shrink, LEAST_SPAN_DEG)
    high = max(max(latitudes) - min(latitudes), LEAST_SPAN_DEG)
    room = WIDTH - 2 * MARGIN
    height = min(max(room * high / wide + 2 * MARGIN, LOWEST), HIGHEST)
    factor = min(room / wide, (height - 2 * MARGIN) / high)
    centre = (min(longitudes) + max(longitudes)) / 2

    def project(point: Point) -> Point:
        return (
            WIDTH / 2 + (point[0] - centre) * shrink * factor,
            height / 2 - (point[1] - middle) * factor,
        )

    # A degree of latitude is 111.2 km on a sphere of the Earth's mean radius, 6371 km.
    return project, height, 111_200 / factor


def _scale(unit_m: float) -> tuple[float, str]:
    """Return a bar of a round length: in units of the drawing, and in words."""
    wanted_m = unit_m * WIDTH / 5
    power = 10 ** math.floor(math.log10(wanted_m))
    length_m = max(step * power for step in (1, 2, 5) if step * power <= wanted_m)
    words = f"{length_m / KILOMETRE_M:g} km" if length_m >= KILOMETRE_M else f"{length_m:g} m"
    return length_m / unit_m, words
