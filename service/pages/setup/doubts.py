"""What is on record, or is about to be, and is hardly so: asked, and held against nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from service.core.places import Point
from service.pages.setup.filing import Filing, Wrong, every, key_of
from service.usecases.records.misplaced import BOOKS, FAR_KM, from_yards_km


def far_off(places: Iterable[Any], yards: Sequence[Point]) -> Iterator[str]:
    """Yield a sentence for the places that no crew drives to from any yard, the farthest named."""
    found = [
        (from_yards_km(place.point, yards), place.name)
        for place in places
        if getattr(place, "point", None) is not None
    ]
    far = sorted((one for one in found if one[0] > FAR_KM), reverse=True)
    if far:
        verb = "lies" if len(far) == 1 else "lie"
        yield (
            f"{len(far)} {verb} more than {FAR_KM:.0f} km from every yard, the farthest "
            f"{far[0][0]:,.0f} km: {far[0][1]}. Is it there?"
        )


def same_registrations(vehicles: Iterable[Any]) -> Iterator[str]:
    """Yield a sentence for each registration that two vehicles of a yard have."""
    counted = Counter((one.depot_id, *key_of(one.registration)) for one in vehicles)
    shown = {key_of(one.registration)[0]: one.registration for one in vehicles}
    for (_, registration), count in counted.items():
        if count > 1:
            yield (
                f"{shown[registration]} is on record as {count} vehicles of one yard: what is "
                "reported of one is not known of the other."
            )


def doubts_of(filing: Filing) -> list[Wrong]:
    """Return what is hardly so of the rows of a sheet, each cell with why."""
    yards = [yard.point for yard in every(filing.needs.library.depots, filing.caller)]
    return [
        Wrong(
            row=one.row,
            column="point",
            detail=f"It lies {away_km:,.0f} km from the yard. Is it there?",
        )
        for one in filing.found
        if one.repository in BOOKS and one.values.get("point") is not None
        if (away_km := from_yards_km(one.values["point"], yards)) > FAR_KM
    ]
