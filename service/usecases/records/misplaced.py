"""Points that lie where no crew of the firm drives: swapped numbers, or another country's.

A lawn in the Indian Ocean is planned like any other, and its crew gets a day of driving.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final
from uuid import UUID

from service.core.distances import apart_km
from service.core.errors import FieldFault
from service.core.places import Point
from service.core.records import Record
from service.usecases.base.ports.unit_of_work import UnitOfWork

# Farther than a crew drives there and back in a day. Common practice, no source.
FAR_KM: Final = 200.0
# Farther than any firm has a yard from what it mows. Common practice, no source.
ABSURD_KM: Final = 1_000.0
LATITUDE_MAX: Final = 90.0
MOST_YARDS: Final = 200
# The books whose places crews drive to.
BOOKS: Final = frozenset({"properties", "beds", "compost_sites"})


def from_yards_km(point: Point, yards: Sequence[Point]) -> float:
    """Return how far the nearest yard is [km]; 0 as long as the firm has none."""
    return min((apart_km(point, yard) for yard in yards), default=0.0)


def swapped_faults(point: Point, yards: Sequence[Point]) -> Iterator[FieldFault]:
    """Yield a fault if a point is near a yard once its two numbers change places, and only then."""
    here_km = from_yards_km(point, yards)
    if here_km < ABSURD_KM or abs(point.longitude) > LATITUDE_MAX:
        return
    swapped = Point(latitude=point.longitude, longitude=point.latitude)
    there_km = from_yards_km(swapped, yards)
    if there_km <= FAR_KM:
        detail = (
            f"This lies {here_km:,.0f} km from the yard, and {there_km:,.0f} km with latitude and "
            "longitude the other way round: they, or the yard's, are swapped."
        )
        yield FieldFault(pointer="/point", detail=detail)


def misplaced_faults(
    unit: UnitOfWork, repository: str, record: Record, before: Record | None = None
) -> Iterator[FieldFault]:
    """Yield what is wrong with where a new or moved record is, beside the firm's yards."""
    point: Point | None = getattr(record, "point", None)
    if repository in BOOKS and point is not None and point != getattr(before, "point", None):
        yield from swapped_faults(point, yards_of(unit, record.firm_id))


def yards_of(unit: UnitOfWork, firm_id: UUID) -> list[Point]:
    """Return where the yards of a firm are."""
    page = unit.depots.page(firm_id, filters={}, after=None, limit=MOST_YARDS)
    return [yard.point for yard in page.records]
