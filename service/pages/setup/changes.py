"""From the changed cells of a form to the changes of a record: nothing else of it is touched."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields
from enum import StrEnum
from typing import Any, Final

from service.core.acceptance.hours import OpeningHours
from service.core.places import Bed, Client, Property
from service.pages.setup.bed_book import BEDS
from service.pages.setup.columns import Column
from service.pages.setup.filing import Filing, Values
from service.pages.setup.own_books import BAYS, CREWS, VEHICLES, YARDS
from service.pages.setup.place_books import LAWNS, SITES
from service.pages.setup.rows import (
    animals_of,
    area_of,
    basis_of,
    consent_of,
    fee_of,
    hours_of,
    minute_cents_of,
    place_of,
)
from service.pages.setup.sheet import Sheet
from service.pages.setup.windows import CELLS as WINDOWS
from service.pages.setup.windows import windows_of, windows_shown

ROW: Final = 1
ANIMALS_SAID: Final = frozenset({"animals", "animals_beside"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """A book whose records are changed one by one, in a form.

    Attributes
    ----------
    sheet
        In whose list they stand.
    columns
        What of them can be changed there.
    """

    sheet: Sheet
    one: str
    repository: str
    columns: tuple[Column, ...]


def _without(sheet: Sheet, *names: str) -> Edit:
    columns = tuple(column for column in sheet.columns if column.name not in names)
    return Edit(sheet=sheet, one=sheet.one, repository=sheet.repository, columns=columns)


def _of_lawns(one: str, repository: str, *names: str) -> Edit:
    columns = tuple(column for column in LAWNS.columns if column.name in names)
    return Edit(sheet=LAWNS, one=one, repository=repository, columns=columns)


EDITS: Final[Mapping[str, Edit]] = {
    "yard": _without(YARDS),
    "vehicles": _without(VEHICLES),
    "crews": _without(CREWS),
    "sites": _without(SITES),
    "bays": _without(BAYS),
    "lawns": _of_lawns(
        "lawn",
        "lawns",
        *("client", "address", "lawn", "area", "area_unit", "grass_kind"),
        *WINDOWS,
    ),
    "places": _of_lawns(
        "place", "properties", "client", "address", "locality", "point", "access_notes"
    ),
    "clients": _of_lawns("client", "clients", "client", "phone", "email", "language"),
    "beds": _without(BEDS),
}
# Fields of a record that several cells say together, and how; of one named elsewhere, its id.
TOGETHER: Final[Mapping[str, tuple[str, ...]]] = {
    "area": ("area", "area_unit"),
    "consent": (
        *("consent", "consent_on", "consent_until"),
        *("visit_max_kg", "visit_min_kg", "month_max_kg"),
    ),
    "legal_basis": ("legal_basis", "exemption", "reference", "basis_until"),
    "fee": ("fee_basis", "fee", "fee_minimum"),
    "hours": ("last_load", *WINDOWS),
    "crew_minute_cents": ("crew_hour",),
    "vehicle_id": ("vehicle",),
    "depot_id": ("yard",),
}
# Cells that mean another field in each book.
OF_BOOKS: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    "clients": {"name": ("client",)},
    "properties": {"client_id": ("client",)},
    "lawns": {
        "property_id": ("client", "address"),
        "name": ("lawn",),
        "hours": (),
        "mowing_hours": WINDOWS,
    },
    "beds": {"property_id": ("client", "address"), "name": ("bed",)},
}


def _hours(record: Any, values: Values, filing: Filing) -> tuple[OpeningHours, ...]:
    """Return a place's hours; those that a form cannot show are said whole or stay."""
    is_bed = isinstance(record, Bed)
    found = (windows_of if is_bed else hours_of)(filing, ROW, values)
    is_hidden = is_bed and windows_shown(record.hours) is None and values["opens"] is None
    if is_hidden or not (is_bed or found):
        filing.wrong(ROW, "opens", "Say the days, and when it opens and closes on them.")
    return found


def _mowing_hours(record: Any, values: Values, filing: Filing) -> tuple[OpeningHours, ...]:
    """Return a lawn's hours; those that a form cannot show are said whole or stay."""
    found = windows_of(filing, ROW, values)
    if windows_shown(record.mowing_hours) is None and values["opens"] is None:
        filing.wrong(ROW, "opens", "Say the days, and from when until when on them.")
    return found


_SAYS: Final[Mapping[str, Callable[[Any, Values, Filing], Any]]] = {
    "area": lambda _, values, __: area_of(values),
    "consent": lambda record, values, _: consent_of(values, record.consent),
    "legal_basis": lambda _, values, __: basis_of(values),
    "fee": lambda _, values, __: fee_of(values),
    "hours": _hours,
    "mowing_hours": _mowing_hours,
    "crew_minute_cents": lambda _, values, __: minute_cents_of(values),
    "vehicle_id": lambda _, values, filing: filing.named(
        ROW, "vehicle", "vehicles", values["vehicle"]
    ),
    "depot_id": lambda _, values, filing: filing.yard(ROW, values),
    "client_id": lambda _, values, filing: filing.named(ROW, "client", "clients", values["client"]),
    "property_id": lambda _, values, filing: place_of(filing, ROW, values),
    "name": lambda record, values, _: (
        (
            values["client"]
            if isinstance(record, Client)
            else values.get("lawn") or values.get("bed")
        )
        or "Lawn"
    ),
}


def changes_of(
    record: Any, values: Values, changed: frozenset[str], filing: Filing, *, repository: str
) -> dict[str, Any]:
    """Return the fields that changed cells change; of an emptied one, what a record begins with.

    What cannot be so is a fault of the filing.
    """
    found: dict[str, Any] = {}
    said_by = {**TOGETHER, **OF_BOOKS.get(repository, {})}
    together = {cell for cells in said_by.values() for cell in cells}
    for field, cells in said_by.items():
        if changed & set(cells):
            found[field] = _SAYS[field](record, values, filing)
            if field == "area" and values["area_unit"] is None and record.area is not None:
                # Read as another unit, an area would be another one.
                filing.wrong(ROW, "area_unit", "Say the unit of the area.")
    if repository == "beds" and changed & ANIMALS_SAID:
        found |= animals_of(filing, ROW, values)
        together |= ANIMALS_SAID
    for name in changed - together:
        found[name] = values[name]
        if values[name] is None:
            found[name] = _begins_with(record, name)
            if _says_something(found[name]):
                filing.wrong(ROW, name, "Choose at least one: it cannot be empty.")
    if isinstance(record, Property) and "address" in found and record.name == record.address:
        found["name"] = found["address"]  # it was called by its address
    return found


def _begins_with(record: Any, name: str) -> Any:
    (field,) = [one for one in fields(record) if one.name == name]
    return None if field.default is MISSING else field.default


def _says_something(begins_with: Any) -> bool:
    """Return whether what a record begins with is a word that nobody said: a status, a language."""
    is_said = isinstance(begins_with, str) and not isinstance(begins_with, StrEnum)
    return is_said or (isinstance(begins_with, tuple) and bool(begins_with))
