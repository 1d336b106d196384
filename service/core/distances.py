"""How far two points are apart, roughly: enough to tell what no crew drives to."""

from __future__ import annotations

import math
from typing import Final

from service.core.places import Point

# The Earth's mean radius [km]. From memory, unverified.
EARTH_KM: Final = 6371.0
# No way there and back in a day is longer: nine hours at the wheel, at the 90 km/h of a lorry's
# limiter (Regulation (EC) 561/2006, article 6, and Directive 92/6/EEC; from memory, unverified).
OUT_OF_REACH_KM: Final = 9 * 90.0 / 2


def apart_km(one: Point, other: Point) -> float:
    """Return how far two points are apart on a sphere, by the haversine [km]."""
    first, second = math.radians(one.latitude), math.radians(other.latitude)
    across = math.radians(other.longitude - one.longitude)
    half = (
        math.sin((second - first) / 2) ** 2
        + math.cos(first) * math.cos(second) * math.sin(across / 2) ** 2
    )
    return 2 * EARTH_KM * math.asin(min(1.0, math.sqrt(half)))
