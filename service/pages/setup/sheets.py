"""Every sheet, in the order in which a firm fills them in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from service.pages.setup.bed_book import BEDS
from service.pages.setup.own_books import BAYS, CREWS, VEHICLES, YARDS
from service.pages.setup.place_books import LAWNS, SITES
from service.pages.setup.sheet import Sheet

SHEETS: Final[Mapping[str, Sheet]] = {
    sheet.name: sheet for sheet in (YARDS, VEHICLES, CREWS, SITES, BAYS, LAWNS, BEDS)
}
