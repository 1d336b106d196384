"""The masses of a gate as its weighbridge has them: pounds and short tons in the United States."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from service.core.measures.quantities import Measure
from service.core.measures.units import UNITS
from service.core.places import CompostSite
from service.documents.rendering.formats import with_unit
from service.documents.rendering.reader import Reader
from service.pages.words import unit_name

POUND: Final = "[lb_av]"
SHORT_TON: Final = "[ston_av]"
US: Final = "US"
# As the files of languages name them.
KEYS: Final = {"kg": "kg", "t": "t", POUND: "lb", SHORT_TON: "short_tons"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scales:
    """The units of a gate, by the country that its site is in, as its reader writes them."""

    reader: Reader
    is_us: bool

    @classmethod
    def of(cls, site: CompostSite, reader: Reader) -> Scales:
        """Return the scales of a site."""
        return cls(reader=reader, is_us=site.jurisdiction.partition("-")[0] == US)

    @property
    def units(self) -> tuple[tuple[str, str], ...]:
        """The units that a weight may be written in, with their names; none: kilograms alone."""
        names = {POUND: "gate.pounds", SHORT_TON: "gate.short_tons"}
        return tuple((code, self.reader.text(key)) for code, key in names.items() if self.is_us)

    def mass(self, mass_kg: float, *, beside_kg: float = 0.0) -> str:
        """Return a mass [kg], in the unit that a greater one beside it is written in."""
        small, large = (POUND, SHORT_TON) if self.is_us else ("kg", "t")
        is_large = max(mass_kg, beside_kg) >= UNITS[large].factor
        code = large if is_large else small
        number = Decimal(f"{mass_kg / UNITS[code].factor:.{2 if is_large else 0}f}")
        return with_unit(number, KEYS[code], self.reader.words)

    def range(self, low_kg: float, high_kg: float) -> str:
        """Return both ends of an estimate in one unit."""
        ends = {"low": self.mass(low_kg, beside_kg=high_kg), "high": self.mass(high_kg)}
        return self.reader.sentence("format.mass_range", **ends)

    def said(self, weighed: Measure) -> str:
        """Return a weight as it was read off: its number and its unit."""
        key = KEYS.get(weighed.unit)
        if key is None:
            return f"{self.reader.told(weighed.value)} {unit_name(weighed.unit)}"
        return with_unit(Decimal(f"{weighed.value:.12g}"), key, self.reader.words)
