"""An invented town: its streets on a plane, and where a house on them stands.

Quadlethorpe and its villages do not exist; the points lie in open country in Lincolnshire.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin
from typing import Final

from service.core.places import Point

TIME_ZONE: Final = "Europe/London"
DEPOT: Final = Point(latitude=52.905, longitude=-0.33)
# Length of a degree at 52.9 degrees north on WGS 84, rounded to 10 m: near enough to invent by.
METRES_PER_DEGREE_NORTH: Final = 111_270.0
METRES_PER_DEGREE_EAST: Final = 67_280.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Street:
    """A straight street: where it begins, seen from the depot, and where it runs.

    Attributes
    ----------
    east_m, north_m
        Its beginning, from the depot [m].
    bearing
        Degrees from north, clockwise.
    plot_m
        From one house number to the next [m].
    """

    locality: str
    east_m: float
    north_m: float
    bearing: float
    plot_m: float = 12.0


STREETS: Final = {
    "Orchard Lane": Street(locality="Quadlethorpe", east_m=1500, north_m=500, bearing=70),
    "Larkspur Road": Street(locality="Quadlethorpe", east_m=1900, north_m=1100, bearing=95),
    "Cordwainer Street": Street(locality="Quadlethorpe", east_m=2400, north_m=700, bearing=20),
    "Mill Dyke": Street(locality="Quadlethorpe", east_m=2900, north_m=300, bearing=350),
    "Priory Close": Street(locality="Quadlethorpe", east_m=3200, north_m=1300, bearing=110),
    "Saltergate": Street(locality="Quadlethorpe", east_m=2100, north_m=-300, bearing=100),
    "Halfpenny Row": Street(locality="Quadlethorpe", east_m=1200, north_m=-700, bearing=80),
    "Staple Road": Street(locality="Quadlethorpe", east_m=0, north_m=120, bearing=90, plot_m=25),
    "Church Walk": Street(locality="Nether Quadle", east_m=800, north_m=3600, bearing=30),
    "Green End": Street(locality="Nether Quadle", east_m=1300, north_m=4100, bearing=60),
    "Fen Drove": Street(locality="Quadle Fen", east_m=4600, north_m=-2300, bearing=120, plot_m=40),
    "Beck Side": Street(locality="Tibbengate", east_m=-3600, north_m=900, bearing=340),
    "Ropewalk": Street(locality="Tibbengate", east_m=-3200, north_m=500, bearing=15),
}


def point_at(*, east_m: float, north_m: float) -> Point:
    """Return the point so far east and north of the depot, to a metre or so."""
    return Point(
        latitude=round(DEPOT.latitude + north_m / METRES_PER_DEGREE_NORTH, 5),
        longitude=round(DEPOT.longitude + east_m / METRES_PER_DEGREE_EAST, 5),
    )


def house_point(street: str, number: int) -> Point:
    """Return where a house stands: odd numbers on the left of the street, even on the right."""
    line = STREETS[street]
    along_m = number * line.plot_m
    across_m = -18.0 if number % 2 else 18.0
    angle = radians(line.bearing)
    return point_at(
        east_m=line.east_m + along_m * sin(angle) + across_m * cos(angle),
        north_m=line.north_m + along_m * cos(angle) - across_m * sin(angle),
    )


def house_address(street: str, number: int) -> str:
    """Return the address of a house."""
    return f"{number} {street}, {STREETS[street].locality}"
