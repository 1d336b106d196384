"""Numbers, dates and units as the reader writes them."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from typing import Final, assert_never

from service.core.measures.estimates import Estimate
from service.core.measures.quantities import from_si, to_si
from service.documents.facts.refusals import DisplayUnitsUnknown
from service.documents.facts.values import (
    AreaAtDepth,
    Listed,
    LotStatements,
    Named,
    Quantity,
    Rounding,
    Unit,
    Value,
)
from service.documents.rendering.language import Language, plural_category
from service.documents.rendering.plain_text import plain


class DisplayUnits(StrEnum):
    """Which units the reader sees; the facts stay in SI."""

    METRIC = "metric"
    US = "us"


UNITS: Final = tuple(units.value for units in DisplayUnits)
_ESTIMATE_FIGURES: Final = 2
_EIGHTHS: Final = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")
_NOON: Final = 12


def display_units(code: str) -> DisplayUnits:
    """Return the display units with this code.

    Raises
    ------
    DisplayUnitsUnknown
        If there are none.
    """
    if code not in UNITS:
        raise DisplayUnitsUnknown(units=code, allowed=", ".join(UNITS))
    return DisplayUnits(code)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """A unit as displayed: key in the language files, UCUM code, finest step that is shown."""

    key: str
    code: str | None
    step: Decimal = Decimal(1)


_KG: Final = _Shown(key="kg", code="kg")
_LB: Final = _Shown(key="lb", code="[lb_av]")
_L: Final = _Shown(key="L", code="L")
_M3: Final = _Shown(key="m3", code="m3", step=Decimal("0.1"))
_GAL: Final = _Shown(key="gal", code="[gal_us]")
_YD3: Final = _Shown(key="yd3", code="[cyd_i]", step=Decimal("0.1"))
_M2: Final = _Shown(key="m2", code="m2")
_FT2: Final = _Shown(key="ft2", code="[sft_i]")
_MM: Final = _Shown(key="mm", code="mm")
_IN: Final = _Shown(key="in", code="[in_i]", step=Decimal("0.125"))
_M: Final = _Shown(key="m", code="m")
_FT: Final = _Shown(key="ft", code="[ft_i]")
# Below an eighth of an inch the eighths say nothing [mm].
_SMALLEST_INCH_MM: Final = 3.2
# From here on a volume reads better in cubic metres or cubic yards [L].
_LARGE_LITRES: Final = {DisplayUnits.METRIC: 1000.0, DisplayUnits.US: 380.0}


Writing = Callable[[Decimal, Language], str]


def number_text(number: Decimal, language: Language) -> str:
    """Return a number with the language's marks."""
    whole, _, part = f"{number:f}".partition(".")
    if len(whole) >= language.group_from:
        whole = f"{int(whole):,}".replace(",", language.group_mark)
    part = part.rstrip("0")
    return f"{whole}{language.decimal_mark}{part}" if part else whole


def show(value: Value, *, language: Language, units: DisplayUnits) -> str:
    """Return any value of a note as the reader writes it.

    Parameters
    ----------
    value
        What fills a gap.
    language
        The reader's language.
    units
        Metric or US customary; US also means a clock of twelve hours.
    """
    match value:
        case str():
            text = plain(value)
        case int():
            text = number_text(Decimal(value), language)
        case Quantity() | AreaAtDepth():
            text = _quantity(value, language=language, units=units)
        case Estimate():
            text = _estimate(value, language=language, units=units)
        case datetime():
            text = language.sentence(
                "format.date_time",
                date=date_text(value.date(), language),
                time=_time(value, language=language, units=units),
            )
        case date():
            text = date_text(value, language)
        case Named():
            text = language.sentence(value.key)
        case Listed():
            mark = value.mark or language.sentences["format.list_mark"]
            text = mark.join(plain(name) for name in value.names)
        case LotStatements():
            text = language.sentences["format.list_mark"].join(
                language.sentence(
                    "format.lot_statement",
                    lot=plain(found.lot_code),
                    statement=language.sentence(found.statement.key),
                )
                for found in value.lots
            )
        case _:
            assert_never(value)
    return text


def date_text(day: date, language: Language) -> str:
    """Return a date that no line breaks apart."""
    written = language.sentence(
        "format.date",
        day=str(day.day),
        month=language.sentences[f"month.{day.month}"],
        year=str(day.year),
    )
    return written.replace(" ", "\u00a0")


def time_text(moment: datetime, language: Language) -> str:
    """Return the hour of a moment by a clock of 24 hours."""
    return _time(moment, language=language, units=DisplayUnits.METRIC)


def _time(moment: datetime, *, language: Language, units: DisplayUnits) -> str:
    half = "format.am" if moment.hour < _NOON else "format.pm"
    return language.sentence(
        "format.time_12" if units is DisplayUnits.US else "format.time_24",
        hour24=f"{moment.hour:02d}",
        hour12=str(moment.hour % _NOON or _NOON),
        minute=f"{moment.minute:02d}",
        half=language.sentences[half],
    )


_PLAIN_UNITS: Final = {
    DisplayUnits.METRIC: {
        Unit.KILOGRAM: _KG,
        Unit.SQUARE_METRE: _M2,
        Unit.LITRE: _L,
        Unit.MILLIMETRE: _MM,
        Unit.METRE: _M,
    },
    DisplayUnits.US: {
        Unit.KILOGRAM: _LB,
        Unit.SQUARE_METRE: _FT2,
        Unit.LITRE: _GAL,
        Unit.MILLIMETRE: _IN,
        Unit.METRE: _FT,
    },
}


def _shown(unit: Unit, *, largest: float, units: DisplayUnits) -> _Shown:
    """Return the unit a value is shown in; `largest` is the greatest of a range."""
    if unit is Unit.LITRE and largest >= _LARGE_LITRES[units]:
        return _YD3 if units is DisplayUnits.US else _M3
    if unit is Unit.MILLIMETRE and largest < _SMALLEST_INCH_MM:
        return _MM
    return _PLAIN_UNITS[units].get(unit, _Shown(key=unit.value, code=None))


def _converted(value: float, unit: Unit, shown: _Shown) -> Decimal:
    # Nine decimals drop the dust of binary fractions, so that 12.7 mm is half an inch.
    if shown.code is None:
        return Decimal(f"{value:.9f}")
    si_unit = {Unit.SQUARE_METRE: "m2", Unit.LITRE: "L"}.get(unit, unit.value)
    return Decimal(f"{from_si(to_si(value, si_unit), shown.code):.9f}")


def _rounded(number: Decimal, *, step: Decimal, way: str) -> Decimal:
    return (number / step).to_integral_value(rounding=way) * step


def _figures(number: Decimal, way: str) -> Decimal:
    """Return the number to the two figures an estimate is worth."""
    if number == 0:
        return number
    exponent = number.adjusted() - _ESTIMATE_FIGURES + 1
    return _rounded(number, step=Decimal(1).scaleb(max(exponent, -2)), way=way)


def _quantity(found: Quantity | AreaAtDepth, *, language: Language, units: DisplayUnits) -> str:
    if isinstance(found, AreaAtDepth):
        found = _area_shown(found, units)
    return _with_unit(*_number(found, units), language)


def _number(found: Quantity, units: DisplayUnits) -> tuple[Decimal, _Shown]:
    shown = _shown(found.unit, largest=found.value, units=units)
    number = _converted(found.value, found.unit, shown)
    way = _WAYS[found.rounding]
    step = shown.step
    if found.rounding is Rounding.AS_READ and shown.key == found.unit.value:
        step = Decimal("0.1")  # a scale's own tenths are shown; a conversion adds none
    if found.rounding is Rounding.ABOUT and shown is not _IN:
        return _figures(number, way), shown
    while 0 < number < step and found.rounding is Rounding.AT_MOST:
        step /= 2  # a limit above nothing is never shown as nothing
    return _rounded(number, step=step, way=way), shown


def _area_shown(found: AreaAtDepth, units: DisplayUnits) -> Quantity:
    """Return the area that goes with the depth as the reader sees it."""
    number, shown = _number(found.depth, units)
    deeper = float(_converted(found.depth.value, found.depth.unit, shown) / number)
    return Quantity(
        value=min(found.area_m2 * deeper, found.area_max_m2),
        unit=Unit.SQUARE_METRE,
        rounding=Rounding.AT_LEAST,
    )


_WAYS: Final = {
    Rounding.ABOUT: ROUND_HALF_EVEN,
    Rounding.AS_READ: ROUND_HALF_EVEN,
    Rounding.AT_MOST: ROUND_FLOOR,
    Rounding.AT_LEAST: ROUND_CEILING,
}


def _estimate(found: Estimate, *, language: Language, units: DisplayUnits) -> str:
    unit = Unit(found.unit)
    shown = _shown(unit, largest=found.high, units=units)

    def figures(value: float, way: str) -> Decimal:
        return _figures(_converted(value, unit, shown), way)

    likely = _with_unit(figures(found.likely, ROUND_HALF_EVEN), shown, language)
    if found.is_exact:
        return likely
    return language.sentence(
        "format.estimate",
        likely=likely,
        low=number_text(figures(found.low, ROUND_FLOOR), language),
        high=_with_unit(figures(found.high, ROUND_CEILING), shown, language),
    )


def _with_unit(number: Decimal, shown: _Shown, language: Language) -> str:
    writing: Writing = _eighths if shown is _IN else number_text
    return with_unit(number, shown.key, language, writing=writing)


def with_unit(
    number: Decimal, unit: str, language: Language, *, writing: Writing = number_text
) -> str:
    """Return a number with a unit of the language's files, in the form its plural asks for."""
    key = f"unit.{unit}"
    if key not in language.sentences:
        key = f"{key}.{plural_category(language.code, f'{number.normalize():f}')}"
    return language.sentence(key, n=writing(number, language)).replace(" ", "\u00a0")


def _eighths(number: Decimal, language: Language) -> str:
    whole, eighths = divmod(int(number * 8), 8)
    if whole == 0 and eighths:
        return _EIGHTHS[eighths]
    return f"{number_text(Decimal(whole), language)}{_EIGHTHS[eighths]}"
