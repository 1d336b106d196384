"""What a code and its facts say, in the language of whoever reads it.

A verdict, an answer or a warning is a code with facts; its sentence stands under ``verdict``,
``warning``, ``plan`` or ``answer`` in the files of languages. A gap has the name of the fact that
fills it, and the name of a fact ends in its unit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from service.documents.rendering.formats import date_text, number_text, time_text, with_unit
from service.documents.rendering.language import Language, gaps_of, language
from service.documents.rendering.plain_text import plain

Facts = Mapping[str, object]

TABLES: Final = ("verdict", "warning", "plan", "crew", "answer")
# Digits shown after the mark, by the unit that the name of a fact ends in; its key under ``unit``.
_UNITS: Final = {
    "kg_per_m2": ("kg_per_m2", 2),
    "kg_per_ha": ("kg_per_ha", 0),
    "kg": ("kg", 0),
    "mm": ("mm", 0),
    "m": ("m", 1),
    "m2": ("m2", 1),
    "m3": ("m3", 1),
    "c": ("c", 0),
    "degrees": ("degrees", 0),
    "minutes": ("minutes", 0),
    "hours": ("h", 1),
    "days": ("days", 0),
    "mowings": ("mowings", 0),
    "takers": ("takers", 0),
}
_LONGEST_UNIT: Final = 3
_ENDS_OF_NAMES: Final = frozenset({"max", "min", "left"})
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_MOMENT: Final = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}")
# Of these a sentence more is said where the grass is too long to be left at once.
_KEPT: Final = frozenset({"label_leave_on_lawn", "treated_leave_on_lawn"})


def _is_long(facts: Facts) -> bool:
    removed, most = facts.get("height_removed_mm"), facts.get("height_removed_mm_max")
    return isinstance(removed, (int, float)) and isinstance(most, (int, float)) and removed > most


def _by(name: str) -> Callable[[Facts], str]:
    return lambda facts: str(facts.get(name))


def _wait(facts: Facts) -> str:
    days, mowings = bool(facts.get("days_left")), bool(facts.get("mowings_left"))
    return "both" if days and mowings else "days" if days else "mowings"


def _kept(facts: Facts) -> str:
    # What is kept because it may go nowhere else has its wait's rule, and no count of its own.
    return "mowings" if facts.get("mowings_left") and "rule" not in facts else "always"


def _left(facts: Facts) -> str:
    # The grass itself stays, or else a body has no room for it, or lies full of what has no place.
    if "height_removed_mm" in facts:
        return "here"
    return "on_top" if facts.get("under_it") else "no_room"


def _over(facts: Facts) -> str:
    high_kg, most_kg = facts.get("mass_high_kg"), facts.get("payload_kg")
    if not (isinstance(high_kg, (int, float)) and isinstance(most_kg, (int, float))):
        return "volume"
    return "mass" if high_kg > most_kg else "volume"


def _whose(facts: Facts) -> str:
    return word if (word := str(facts.get("rule_class"))) in {"law", "client", "site"} else "advice"


def _tipped(facts: Facts) -> str:
    # From a hot heap people keep away; of a bed that takes nothing it is told whose word that is.
    refusal = facts.get("refusal")
    if not isinstance(refusal, Mapping):
        return _whose(facts)
    return "hot" if refusal.get("code") == "bay_hot" else "refused"


# Codes with several sentences: which of them, by the facts.
VARIANTS: Final[Mapping[str, Callable[[Facts], str]]] = {
    "do_not_tip": lambda facts: "elsewhere" if facts.get("other") else "ask",
    "do_not_tip_all": lambda facts: "elsewhere" if facts.get("other") else "ask",
    "ground_not_fit": _by("ground_state"),
    "kill_not_shown": _by("kill"),
    "label_leave_on_lawn": _kept,
    "leave_on_lawn": _left,
    "leave_in_drought": lambda facts: "long" if _is_long(facts) else "short",
    "no_consent": _by("consent"),
    "no_place_by_plan": _by("because"),
    "over_limit": _whose,
    "nobody_takes_them": lambda facts: "unfit" if facts.get("unfit") else "long",
    "process_does_not_kill": _by("kill"),
    "tipped_where_refused": _tipped,
    "tip_a_part": lambda facts: "and_go_on" if facts.get("place") else "keep_the_rest",
    "too_near_water": _by("water"),
    "treated_leave_on_lawn": _kept,
    "treatment_wait": _wait,
    "vehicle_may_be_overloaded": _over,
    "water_distance_unknown": _by("water"),
}


def told_sentence(code: str, facts: Facts, *, language_code: str) -> str | None:
    """Return what is said of a code and its facts; None where a word or a fact is missing.

    Parameters
    ----------
    language_code
        Of a language that notes know.

    Raises
    ------
    LanguageUnknown
    """
    words = language(language_code)
    variant = VARIANTS.get(code)
    name = code if variant is None else f"{code}.{variant(facts)}"
    known = (f"{table}.{name}" for table in TABLES)
    keys = [next((key for key in known if key in words.sentences), name)]
    if code in _KEPT and _is_long(facts):
        keys.append("verdict.too_long")
    if code == "load_stands":
        keys.append("warning.pick_up")
    if code == "load_held" and facts.get("temperature_c") is not None:
        keys.append("warning.load_held_measured")
    if facts.get("law") == "not_known" and facts.get("ask"):
        keys.append("verdict.law_not_known")
    told = [_filled(key, facts, words) for key in keys]
    return " ".join(text for text in told if text) if all(told) else None


def _filled(key: str, facts: Facts, words: Language) -> str | None:
    sentence = words.sentences.get(key)
    if sentence is None:
        return None
    gaps = {name: fact_text(name, facts.get(name), words) for name in gaps_of(sentence)}
    if not all(gaps.values()):
        return None
    return words.sentence(key, **{name: text for name, text in gaps.items() if text is not None})


def fact_text(name: str, value: object, words: Language) -> str | None:
    """Return a fact as the reader writes it; None where there is none, or no word for it."""
    text: str | None = None
    match value:
        case bool() | None:
            pass
        case int() | float():
            text = _number(name, value, words)
        case datetime():
            at = time_text(value, words)
            text = words.sentence("format.date_time", date=date_text(value.date(), words), time=at)
        case date():
            text = date_text(value, words)
        case str():
            text = _text(name, value, words)
        case list() | tuple():
            told = [fact_text(name, item, words) for item in value]
            mark = words.sentences["format.list_mark"]
            text = mark.join(one for one in told if one) if all(told) else None
        case Mapping():
            # What has a code of its own is told within.
            own = value.get("facts") or {}
            text = told_sentence(str(value.get("code")), own, language_code=words.code)
    return text


def _text(name: str, value: str, words: Language) -> str:
    if _DAY.fullmatch(value):
        return date_text(date.fromisoformat(value), words)
    if _MOMENT.match(value):
        return fact_text(name, datetime.fromisoformat(value), words) or ""
    return words.sentences.get(f"{name}.{value}") or plain(value).rstrip(". ")


def _number(name: str, value: float, words: Language) -> str:
    parts = [part for part in name.split("_") if part not in _ENDS_OF_NAMES]
    for count in range(_LONGEST_UNIT, 0, -1):
        found = _UNITS.get("_".join(parts[-count:]))
        if found is not None:
            unit, digits = found
            return with_unit(Decimal(f"{value:.{digits}f}"), unit, words)
    return number_text(Decimal(f"{value:g}"), words)
