"""Points that lie where no crew of the firm drives: swapped numbers, or another country's.

A lawn in the Indian Ocean is planned like any other, and its crew gets a day of driving.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final
from uuid import UUID

from service.core.distances import apart_km
from service.core.errors import FieldFault
from service.core.places import Point
from service.core.records import Record
from service.usecases.base.ports.unit_of_work import Page, UnitOfWork

# Farther than a crew drives there and back in a day. Common practice, no source.
FAR_KM: Final = 200.0
# Farther than any firm has a yard from what it mows. Common practice, no source.
ABSURD_KM: Final = 1_000.0
LATITUDE_MAX: Final = 90.0
MOST_YARDS: Final = 200
# The books whose places crews drive to.
BOOKS: Final = frozenset({"properties", "beds", "compost_sites"})
YARDS: Final = "depots"


def from_yards_km(point: Point, yards: Sequence[Point]) -> float:
    """Return how far the nearest yard is [km]; 0 as long as the firm has none."""
    return min((apart_km(point, yard) for yard in yards), default=0.0)


def swapped_faults(
    point: Point, yards: Sequence[Point], *, of: str = "the yard"
) -> Iterator[FieldFault]:
    """Yield a fault if a point is near a yard once its two numbers change places, and only then."""
    here_km = from_yards_km(point, yards)
    if here_km < ABSURD_KM or abs(point.longitude) > LATITUDE_MAX:
        return
    swapped = Point(latitude=point.longitude, longitude=point.latitude)
    there_km = from_yards_km(swapped, yards)
    if there_km <= FAR_KM:
        detail = (
            f"This lies {here_km:,.0f} km from {of}, and {there_km:,.0f} km with latitude and "
            f"longitude the other way round: they, or those of {of}, are swapped."
        )
        yield FieldFault(pointer="/point", detail=detail)


def misplaced_faults(
    unit: UnitOfWork, repository: str, record: Record, before: Record | None = None
) -> Iterator[FieldFault]:
    """Yield what is wrong with where a new or moved record is, beside the firm's yards.

    A yard itself is looked at beside the others, and beside what its crews drive to.
    """
    point: Point | None = getattr(record, "point", None)
    if point is None or point == getattr(before, "point", None):
        return
    if repository in BOOKS:
        yield from swapped_faults(point, yards_of(unit, record.firm_id))
    elif repository == YARDS:
        yield from swapped_faults(point, _beside_yard(unit, record), of="the others")


def yards_of(unit: UnitOfWork, firm_id: UUID) -> list[Point]:
    """Return where the yards of a firm are."""
    page = unit.depots.page(firm_id, filters={}, after=None, limit=MOST_YARDS)
    return [yard.point for yard in page.records]


def _beside_yard(unit: UnitOfWork, yard: Record) -> list[Point]:
    """Return where the other yards of its firm are, and some of what its crews drive to."""
    firm_id = yard.firm_id
    pages: list[Page[Any]] = [
        book.page(firm_id, filters={}, after=None, limit=MOST_YARDS)
        for book in (unit.depots, unit.properties)
    ]
    return [one.point for page in pages for one in page.records if one.id != yard.id]
