"""The lawns and places of a firm by the names that people know them by, to choose from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.callers.access import Caller
from service.pages.needs import Needs
from service.pages.replanning import replanned
from service.pages.setup.filing import every


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Something that can be chosen: its name, and under which heading it stands."""

    id: UUID
    name: str
    under: str


def lawns_named(needs: Needs, caller: Caller) -> list[Named]:
    """Return every lawn by its address, under its town."""
    homes = {one.id: one for one in every(needs.library.properties, caller)}
    found = [
        Named(
            id=lawn.id,
            name=f"{homes[lawn.property_id].address}, {lawn.name}",
            under=homes[lawn.property_id].locality or "Elsewhere",
        )
        for lawn in every(needs.library.lawns, caller)
    ]
    return sorted(found, key=lambda one: (one.under, one.name))


def places_named(needs: Needs, caller: Caller) -> list[Named]:
    """Return every place that grass is brought to, by its kind."""
    found = [
        Named(id=one.id, name=one.name, under=kind.value)
        for kind, books in needs.library.destinations.items()
        for one in every(books, caller)
    ]
    return sorted(found, key=lambda one: (one.under, one.name))


def products_named(needs: Needs, caller: Caller) -> list[str]:
    """Return the products and active ingredients that are on record, to type no name otherwise."""
    return sorted(
        {
            name
            for one in every(needs.library.treatments, caller)
            for name in (one.product, *one.active_ingredients)
        }
    )


def now_at_yard(needs: Needs, caller: Caller) -> datetime:
    """Return what the clock of the firm's first yard shows."""
    zones = (one.time_zone for one in every(needs.library.depots, caller))
    return needs.look_at_day.now(ZoneInfo(next(zones, "UTC")))


def plan_today(needs: Needs, caller: Caller) -> None:
    """Have today planned again at every yard: what is known of grass concerns them all."""
    for depot in every(needs.library.depots, caller):
        today: date = needs.look_at_day.now(ZoneInfo(depot.time_zone)).date()
        replanned(needs, caller, depot.id, today)
