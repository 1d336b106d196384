"""What becomes of a row: whose it is, which records it makes, what of it is not to be kept."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final
from uuid import UUID

from service.core.acceptance.fees import Fee, FeeBasis
from service.core.acceptance.hours import OpeningHours, hours_faults
from service.core.measures.quantities import Measure
from service.core.permission.consent import NOT_ASKED, Consent, ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.pages.setup.filing import Filing, Values, key_of
from service.pages.setup.windows import windows_of
from service.pages.setup.words import NO_ANIMALS, WEEK

CENTS: Final = 100
MINUTES: Final = 60


def file_yard(filing: Filing, row: int, values: Values) -> None:
    """File a yard."""
    names = ("name", "address", "point", "time_zone", "shift_starts", "shift_ends", "jurisdiction")
    kept = _given(values, *names)
    if (cents := minute_cents_of(values)) is not None:
        kept["crew_minute_cents"] = cents
    filing.add_once(row, "name", "depots", key_of(values["name"]), kept)


def minute_cents_of(values: Values) -> int | None:
    """Return what a minute of a crew costs, of what its hour does; None: nobody said."""
    hour: float | None = values["crew_hour"]
    if hour is None:
        return None
    # What costs something never costs nothing: 0 is a word of its own.
    return max(round(hour * CENTS / MINUTES), 1 if hour > 0 else 0)


def file_vehicle(filing: Filing, row: int, values: Values) -> None:
    """File a vehicle."""
    limits = ("payload_kg", "body_volume_m3", "gross_limit_kg", "tare_kg")
    own = _given(values, "registration", "name", *limits, "used_until")
    kept = {"depot_id": filing.yard(row, values), **own}
    filing.add_once(row, "registration", "vehicles", key_of(values["registration"]), kept)


def file_crew(filing: Filing, row: int, values: Values) -> None:
    """File a crew."""
    kept = {
        "depot_id": filing.yard(row, values),
        "vehicle_id": filing.named(row, "vehicle", "vehicles", values["vehicle"]),
        **_given(values, "name", "lead", "phone", "language", "used_until"),
    }
    filing.add_once(row, "name", "crews", key_of(values["name"]), kept)


def file_bay(filing: Filing, row: int, values: Values) -> None:
    """File a hold bay."""
    kept = {
        "depot_id": filing.yard(row, values),
        **_given(values, "name", "volume_m3", "leachate_contained"),
    }
    filing.add_once(row, "name", "hold_bays", key_of(values["name"]), kept)


def file_site(filing: Filing, row: int, values: Values) -> None:
    """File a compost site; its clock and, where nobody says so, its law are the yard's."""
    yards = list(filing.names("depots").values())
    if not yards:
        filing.wrong(row, "name", "First say where the yard is: its clock and law are the site's.")
        return
    yard = filing.needs.library.depots.read(filing.caller, yards[0])
    names = ("name", "operator", "address", "point", "phone", "daily_capacity_kg")
    kept = {
        **_given(values, *names, "accepted_statuses", "takes_sour"),
        "time_zone": yard.time_zone,
        "jurisdiction": values["jurisdiction"] or yard.jurisdiction,
        "fee": fee_of(values),
        "hours": hours_of(filing, row, values),
    }
    filing.add_once(row, "name", "compost_sites", key_of(values["name"]), kept)


def file_lawn(filing: Filing, row: int, values: Values) -> None:
    """File a lawn, and its client and place unless they are known."""
    client = {"name": values["client"], **_given(values, "phone", "email", "language")}
    client_id = filing.owner(row, "clients", key_of(values["client"]), client)
    place = {
        "client_id": client_id,
        "name": values["address"],
        **_given(values, "address", "locality", "point", "access_notes"),
    }
    key = (str(client_id), *key_of(values["address"]))
    property_id = filing.owner(row, "properties", key, place)
    name = values["lawn"] or "Lawn"
    kept = {"property_id": property_id, "name": name, "area": area_of(values)}
    kept |= _given(values, "grass_kind")
    kept["mowing_hours"] = windows_of(filing, row, values)
    filing.add_once(row, "lawn", "lawns", (str(property_id), *key_of(name)), kept)


def file_bed(filing: Filing, row: int, values: Values) -> None:
    """File a bed of a place that is on record."""
    property_id = place_of(filing, row, values)
    if property_id is None:
        return
    names = (
        *("drainage", "edible", "slope_percent", "water_distance_m", "well_distance_m"),
        *(
            "grazing_fenced",
            "near_drain_or_paving",
            "point",
            "where_to_lay",
            "ground_kind",
            "water_protection_zone",
            "closed_on",
        ),
    )
    kept = {
        "property_id": property_id,
        "name": values["bed"],
        "area": area_of(values),
        "consent": consent_of(values),
        "legal_basis": basis_of(values),
        "hours": windows_of(filing, row, values),
        **animals_of(filing, row, values),
        **_given(values, *names),
    }
    filing.add_once(row, "bed", "beds", (str(property_id), *key_of(values["bed"])), kept)


def animals_of(filing: Filing, row: int, values: Values) -> dict[str, Any]:
    """Return which animals are at a bed and beside it; what nobody has said stays not known.

    What is not known is on record as nobody having looked beside it: whoever did saw both.
    """
    at, beside = values["animals"], values["animals_beside"]
    if at is None and beside is not None:
        what = f"Write which, or {NO_ANIMALS}: who looked beside the bed saw that, too."
        filing.wrong(row, "animals", what)
    return {"animals": at or (), "animals_beside": beside}


def place_of(filing: Filing, row: int, values: Values) -> UUID | None:
    """Return the place on record that a row names by client and address; else that is a fault."""
    client_id = filing.named(row, "client", "clients", values["client"])
    if client_id is None:
        return None
    key = (str(client_id), *key_of(values["address"]))
    property_id = filing.names("properties").get(key)
    if property_id is None:
        filing.wrong(row, "address", "This client has no place at this address on record.")
    return property_id


def consent_of(values: Values, before: Consent = NOT_ASKED) -> Consent:
    """Return whether a client agreed, with what a row does not say as it was before."""
    return replace(
        before,
        state=values["consent"] or ConsentState.NOT_ASKED,
        given_on=values["consent_on"],
        expires_on=values["consent_until"],
        mass_per_visit_max_kg=values["visit_max_kg"],
        mass_per_visit_min_kg=values["visit_min_kg"],
        mass_per_month_max_kg=values["month_max_kg"],
    )


def basis_of(values: Values) -> LegalBasis:
    """Return the legal ground that a row says."""
    return LegalBasis(
        kind=values["legal_basis"] or LegalBasisKind.NOT_ESTABLISHED,
        exemption=values["exemption"],
        reference=values["reference"],
        expires_on=values["basis_until"],
    )


def _given(values: Values, *names: str) -> dict[str, Any]:
    """Return what was filled in; what was left empty keeps what a record begins with."""
    return {name: values[name] for name in names if values[name] is not None}


def area_of(values: Values) -> Measure | None:
    """Return the area that a row says."""
    area = values["area"]
    return None if area is None else Measure(value=area, unit=values["area_unit"] or "m2")


def fee_of(values: Values) -> Fee | None:
    """Return the fee that a row says."""
    if values["fee"] is None or values["fee_basis"] is None:
        return None
    return Fee(
        basis=FeeBasis(values["fee_basis"]),
        amount_cents=round(values["fee"] * CENTS),
        minimum_cents=round((values["fee_minimum"] or 0) * CENTS),
    )


def hours_of(filing: Filing, row: int, values: Values) -> tuple[OpeningHours, ...]:
    """Return the hours that a row says, the same on all its days."""
    opens, closes, last_load = values["opens"], values["closes"], values["last_load"]
    if None in (opens, closes, last_load) or values["days"] is None:
        return ()
    found = tuple(
        OpeningHours(weekday=weekday, opens=opens, closes=closes, last_load=last_load)
        for weekday, name in enumerate(WEEK)
        if name in values["days"]
    )
    if hours_faults(found):
        filing.wrong(row, "last_load", "It lies after opening, and not after closing.")
    return found
