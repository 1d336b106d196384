"""The rulebook: dated, sourced values, read once and frozen.

Every rule is a table in a TOML file beside this module::

    [clipping_moisture]
    unit = "1"
    kind = "measured"
    scope = "turfgrass clippings as they leave the mower"
    by = ["wetness"]

    [[clipping_moisture.values]]
    from = 1990-01-01
    wetness = "dry"
    low = 0.70
    likely = 0.76
    high = 0.80
    source = "mu-g6958"
    where = "Table 1"

A row holds from its day until the day another row with the same cases and
jurisdiction starts, or through its own `until`. A rule changes by a new dated
row: a plan made last year must still be explained. `kind` and `scope` may be
given again on a row; `also` names further sources; `standing` is how the value
was come by: "read" (the default), "second hand", "memory" or "practice".
"""

import datetime
import hashlib
import math
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from service.core.errors import Refusal
from service.core.estimates import Estimate
from service.rules.faults import RulebookBroken
from service.rules.materials import MaterialRow, material_rows
from service.rules.sources import Source, sources_in
from service.rules.treatments import TreatmentTable, treatment_table

_TABLE_FILES: Final = ("sources", "materials", "treatments", "units")
_RULE_KEYS: Final = frozenset({"unit", "kind", "scope", "by", "values"})
_ROW_KEYS: Final = frozenset(
    {
        *("from", "until", "jurisdiction", "value", "low", "likely", "high"),
        *("source", "also", "where", "kind", "scope", "standing"),
    }
)


class RuleUnknown(Refusal):
    """No rule has this name."""

    code = "rule_unknown"
    sentence = "There is no rule called {name}."


class RuleNotInForce(Refusal):
    """No row of the rule covers the day, the place and the case asked for."""

    code = "rule_not_in_force"
    sentence = "Rule {name} has no value for {case} on {day} in {jurisdiction}."


class Kind(StrEnum):
    """What stands behind a rule; only advice may be overridden by one person."""

    LAW = "law"
    LABEL = "label"
    SITE = "site"
    CLIENT = "client"
    ADVICE = "advice"
    MEASURED = "measured"


class Standing(StrEnum):
    """How the value was come by."""

    READ = "read"
    SECOND_HAND = "second hand"
    MEMORY = "memory"
    PRACTICE = "practice"


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleValue:
    """One value of a rule, as it was in force on a day.

    Parameters
    ----------
    name, case
        The rule, and the case of it (``{"wetness": "dry"}``), in fixed order.
    low, likely, high
        The value in `unit`; all three equal where the rule is one number.
    unit
        A unit named in ``units.toml``.
    scope
        What the rule is about: a limit applied to the wrong heap is no limit.
    source, also, where
        Key of the source, keys of further ones, and the place in it.
    kind, standing
        What stands behind it and how it was come by.
    jurisdiction
        ISO 3166 code of the place it holds in; None where it holds anywhere.
    since, until
        First and last day in force; `until` is None while it is open.
    """

    name: str
    case: tuple[tuple[str, str], ...]
    low: float
    likely: float
    high: float
    unit: str
    scope: str
    source: str
    also: tuple[str, ...]
    where: str
    kind: Kind
    standing: Standing
    jurisdiction: str | None
    since: datetime.date
    until: datetime.date | None

    @property
    def value(self) -> float:
        """The number of the rule; of an interval, its likely value."""
        return self.likely

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of all sources of the value, sorted."""
        return tuple(sorted({self.source, *self.also}))

    @property
    def estimate(self) -> Estimate:
        """The value as an estimate that names its rule and its sources."""
        case = ", ".join(f"{key} {word}" for key, word in self.case)
        return Estimate(
            low=self.low,
            likely=self.likely,
            high=self.high,
            unit=self.unit,
            basis=f"{self.name} ({case})" if case else self.name,
            sources=self.sources,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule: its cases and its dated rows, newest last."""

    name: str
    by: tuple[str, ...]
    rows: tuple[RuleValue, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rulebook:
    """All rules of the service; made by `Rulebook.load`, then never changed.

    Parameters
    ----------
    version
        First 16 hexadecimal digits of the SHA-256 over every rule file, so
        that a plan or an estimate can say which rules it was made under.
    """

    version: str
    rules: Mapping[str, Rule]
    sources: Mapping[str, Source]
    units: Mapping[str, str]
    materials: Mapping[str, MaterialRow]
    treatments: TreatmentTable

    @classmethod
    def load(cls, path: Path | None = None) -> "Rulebook":
        """Read a folder of rule files and refuse it unless every row is complete.

        Parameters
        ----------
        path
            Folder of TOML files; None reads those that come with the service.

        Raises
        ------
        RulebookBroken
            If a row lacks its unit, scope, source or place in it, names a unit
            or source that is not listed, or covers a day twice.
        """
        texts = _texts_in(path)
        digest = hashlib.sha256()
        for name, text in texts.items():
            digest.update(f"{name}\0{text}\0".encode())
        data = {name: tomllib.loads(text) for name, text in texts.items()}
        for name in _TABLE_FILES:
            if name not in data:
                raise RulebookBroken(rule=name, fault=f"the file {name}.toml is missing")
        units = {str(code): str(meaning) for code, meaning in data["units"]["units"].items()}
        sources = sources_in(data["sources"])
        rules: dict[str, Rule] = {}
        for file_name in sorted(set(data) - set(_TABLE_FILES)):
            for name, table in data[file_name].items():
                if name in rules:
                    raise RulebookBroken(rule=name, fault="two files define it")
                rules[name] = _rule_from(name, table, units=units, sources=sources)
        return cls(
            version=digest.hexdigest()[:16],
            rules=MappingProxyType(rules),
            sources=MappingProxyType(sources),
            units=MappingProxyType(units),
            materials=MappingProxyType(material_rows(data["materials"], sources=sources)),
            treatments=treatment_table(data["treatments"], sources=sources),
        )

    def value_on(
        self, name: str, day: datetime.date, *, jurisdiction: str | None = None, **case: str
    ) -> RuleValue:
        """Return the value of a rule on a day.

        Parameters
        ----------
        name
            Name of the rule.
        day
            The day that counts for it, in the depot's calendar.
        jurisdiction
            ISO 3166 code such as ``GB-ENG`` or ``US-IL``. The narrowest row
            wins: US-IL before US before a row without a place.
        case
            One word for each of the rule's cases, e.g. ``wetness="dry"``.

        Raises
        ------
        RuleUnknown, RuleNotInForce
        """
        rule = self.rules.get(name)
        if rule is None:
            raise RuleUnknown(name=name)
        wanted = tuple((key, case[key]) for key in rule.by if key in case)
        if len(wanted) == len(rule.by) == len(case):
            for place in _widening(jurisdiction):
                for row in reversed(rule.rows):
                    if row.case == wanted and row.jurisdiction == place and _covers(row, day):
                        return row
        raise RuleNotInForce(
            name=name, case=case or "any case", day=day, jurisdiction=jurisdiction or "any place"
        )

    def words_of(self, name: str, case: str) -> tuple[str, ...]:
        """Return the words a rule knows for one of its cases, in file order.

        Raises
        ------
        RuleUnknown
        """
        rule = self.rules.get(name)
        if rule is None or case not in rule.by:
            raise RuleUnknown(name=f"{name} by {case}")
        return tuple(dict.fromkeys(dict(row.case)[case] for row in rule.rows))


def _covers(row: RuleValue, day: datetime.date) -> bool:
    return row.since <= day and (row.until is None or day <= row.until)


def _widening(jurisdiction: str | None) -> tuple[str | None, ...]:
    if jurisdiction is None:
        return (None,)
    country = jurisdiction.split("-", 1)[0]
    return (jurisdiction, None) if country == jurisdiction else (jurisdiction, country, None)


def _texts_in(path: Path | None) -> dict[str, str]:
    folder: Traversable = resources.files("service.rules") if path is None else path
    files = sorted(
        (entry for entry in folder.iterdir() if entry.name.endswith(".toml")),
        key=lambda entry: entry.name,
    )
    return {entry.name.removesuffix(".toml"): entry.read_text(encoding="utf-8") for entry in files}


def _rule_from(
    name: str, table: Mapping[str, Any], *, units: Mapping[str, str], sources: Mapping[str, Source]
) -> Rule:
    unknown = set(table) - _RULE_KEYS
    if unknown:
        raise RulebookBroken(rule=name, fault=f"unknown keys {sorted(unknown)}")
    for key in ("unit", "kind", "scope", "values"):
        if not table.get(key):
            raise RulebookBroken(rule=name, fault=f"no {key}")
    if table["unit"] not in units:
        raise RulebookBroken(rule=name, fault=f"unit {table['unit']} is not in units.toml")
    by = tuple(table.get("by", ()))
    rows = sorted(
        (_row_from(name, row, table=table, by=by, sources=sources) for row in table["values"]),
        key=lambda row: row.since,
    )
    return Rule(name=name, by=by, rows=tuple(_closed(name, rows)))


def _row_from(
    name: str,
    row: Mapping[str, Any],
    *,
    table: Mapping[str, Any],
    by: Sequence[str],
    sources: Mapping[str, Source],
) -> RuleValue:
    unknown = set(row) - _ROW_KEYS - set(by)
    if unknown:
        raise RulebookBroken(rule=name, fault=f"unknown keys {sorted(unknown)} in a row")
    for key in ("from", "source", "where", *by):
        if not row.get(key):
            raise RulebookBroken(rule=name, fault=f"a row has no {key}")
    for key in (row["source"], *row.get("also", ())):
        if key not in sources:
            raise RulebookBroken(rule=name, fault=f"source {key} is not in sources.toml")
    low, likely, high = _three_of(name, row)
    return RuleValue(
        name=name,
        case=tuple((key, str(row[key])) for key in by),
        low=low,
        likely=likely,
        high=high,
        unit=str(table["unit"]),
        scope=str(row.get("scope", table["scope"])),
        source=str(row["source"]),
        also=tuple(row.get("also", ())),
        where=str(row["where"]),
        kind=Kind(row.get("kind", table["kind"])),
        standing=Standing(row.get("standing", sources[row["source"]].standing)),
        jurisdiction=row.get("jurisdiction"),
        since=row["from"],
        until=row.get("until"),
    )


def _three_of(name: str, row: Mapping[str, Any]) -> tuple[float, float, float]:
    three = (
        (row["value"],) * 3
        if "value" in row
        else (row.get("low"), row.get("likely"), row.get("high"))
    )
    interval = {"low", "likely", "high"} & set(row)
    if ("value" in row and interval) or any(
        isinstance(end, bool) or not isinstance(end, int | float) or not math.isfinite(end)
        for end in three
    ):
        raise RulebookBroken(rule=name, fault="a row needs one value, or low, likely and high")
    low, likely, high = (float(end) for end in three if end is not None)
    if not low <= likely <= high:
        raise RulebookBroken(rule=name, fault="low, likely and high are out of order")
    return low, likely, high


def _closed(name: str, rows: Iterable[RuleValue]) -> list[RuleValue]:
    """Refuse two rows of the same case, place and day."""
    seen: set[tuple[object, ...]] = set()
    kept: list[RuleValue] = []
    for row in rows:
        key = (row.case, row.jurisdiction, row.since)
        if key in seen:
            raise RulebookBroken(rule=name, fault=f"two rows start on {row.since} for {row.case}")
        seen.add(key)
        kept.append(row)
    return kept
