"""Values a sentence has gaps for: measured, counted, dated or named, in no language."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from service.core.measures.estimates import Estimate


class Unit(StrEnum):
    """Units a value of a note comes in; the display may show another."""

    KILOGRAM = "kg"
    LITRE = "L"
    SQUARE_METRE = "m2"
    MILLIMETRE = "mm"
    METRE = "m"
    HOUR = "h"
    DAY = "days"
    BAG = "bags"
    LAYER = "layers"


class Rounding(StrEnum):
    """Which way a number may be rounded without telling a lie."""

    ABOUT = "about"
    """An estimate: two figures say all it knows."""
    AT_MOST = "at_most"
    """A limit from above: rounded down."""
    AT_LEAST = "at_least"
    """A limit from below: rounded up."""
    AS_READ = "as_read"
    """Read off a scale or counted: shown as it stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number, its unit, and which way it may be rounded."""

    value: float
    unit: Unit
    rounding: Rounding = Rounding.AS_READ


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaAtDepth:
    """What a load covers at a depth [m2], at most so much of it.

    It is shown for the depth as that is shown: rounded down, the same load covers more.
    """

    area_m2: float
    depth: Quantity
    area_max_m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A word of the language files, by its key, e.g. ``treatment.not_known``."""

    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """Names given by people or by a standard: nothing to translate.

    They are listed by the language's own mark, unless one is named: names may hold commas.
    """

    names: tuple[str, ...]
    mark: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStatement:
    """A lot and what is said of it: a code, and a word of the language files by its key."""

    lot_code: str
    statement: Named


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStatements:
    """What is said of several lots."""

    lots: tuple[LotStatement, ...]


Value = (
    str | int | Quantity | AreaAtDepth | Estimate | date | datetime | Named | Listed | LotStatements
)
"""What a gap can hold. A `str` is user text: shown as it is, in every language."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentOnRecord:
    """One treatment of a lot's lawn, with its own day, its own wait and what it follows."""

    active_ingredients: tuple[str, ...]
    treated_on: date
    is_over: bool
    wait_ends_on: date | None
    rule: str
