"""Which places there are by ISO 3166: a code that is made up has nobody's law."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Final

# ISO 3166-2:GB: three countries and a province, each with its own law of waste. Counties have none.
PARTS_OF_GB: Final = ("ENG", "NIR", "SCT", "WLS")
# ISO 3166-1: reserved, and not the country's code.
MISTAKEN: Final = {"UK": "GB", "EL": "GR"}


@cache
def countries() -> frozenset[str]:
    """Return the codes of ISO 3166-1, by the table in the time zone database of IANA."""
    text = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text(encoding="utf-8")
    return frozenset(line[:2] for line in text.splitlines() if line and not line.startswith("#"))


def fault_of_place(code: str) -> str | None:
    """Return what is wrong with a code such as GB-ENG, in a sentence; None if nothing is.

    Parts of other countries than the United Kingdom are not looked up: no table of them is here.
    """
    country, _, part = code.partition("-")
    if country in MISTAKEN:
        meant = MISTAKEN[country]
        return f"Write {meant}, not {country}: ISO 3166 has no country {country}."
    if country not in countries():
        return f"ISO 3166 has no country {country}. Write one it has, such as GB-ENG, IE or US-OH."
    if country == "GB" and part and part not in PARTS_OF_GB:
        allowed = ", ".join(f"GB-{one}" for one in PARTS_OF_GB)
        return f"No law is known by {code}. Choose one of: {allowed}."
    return None
