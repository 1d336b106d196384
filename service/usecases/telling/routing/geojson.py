"""A day's routing as GeoJSON (RFC 7946): stops, ways between them, and destinations."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.core.plans import DayPlan

Feature = dict[str, object]
Members = Mapping[str, Any]

# RFC 7946, 11.2: seven decimals are a centimetre.
DECIMALS = 7


def routing_map(plan: DayPlan) -> dict[str, object]:
    """Return the plan as a feature collection.

    A line joins a vehicle's stops as the crow flies, in their order: the service knows
    distances, not streets.
    """
    routing: Members = plan.routing
    return {
        "type": "FeatureCollection",
        "features": [
            *_vehicle_features(routing["vehicles"]),
            *_destination_features(routing["destinations"]),
        ],
    }


def _vehicle_features(vehicles: Sequence[Members]) -> Iterator[Feature]:
    for vehicle in vehicles:
        stops = vehicle["stops"]
        for number, stop in enumerate(stops, start=1):
            yield _feature(
                {"type": "Point", "coordinates": _position(stop)},
                {
                    "feature": "stop",
                    "vehicle_id": vehicle["vehicle_id"],
                    "number": number,
                    **_told(stop),
                },
            )
        if len(stops) > 1:
            yield _feature(
                {"type": "LineString", "coordinates": [_position(stop) for stop in stops]},
                {
                    "feature": "way",
                    "vehicle_id": vehicle["vehicle_id"],
                    "registration": vehicle["registration"],
                },
            )


def _destination_features(destinations: Sequence[Members]) -> Iterator[Feature]:
    for destination in destinations:
        yield _feature(
            {"type": "Point", "coordinates": _position(destination)},
            {"feature": "destination", **_told(destination)},
        )


def _feature(geometry: dict[str, object], properties: dict[str, object]) -> Feature:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def _position(place: Members) -> list[float]:
    return [round(place["longitude"], DECIMALS), round(place["latitude"], DECIMALS)]


def _told(place: Members) -> dict[str, object]:
    """Return everything but the position, which the geometry carries."""
    return {name: value for name, value in place.items() if name not in {"longitude", "latitude"}}
