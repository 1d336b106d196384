"""One rule as it stands in a file: checked, dated, with its unit, scope and source."""

import datetime
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from service.core.measures.estimates import Estimate
from service.rules.binding import Binds, binds_from
from service.rules.faults import RulebookBroken
from service.rules.sources import Source

_RULE_KEYS: Final = frozenset({"unit", "kind", "scope", "by", "binds", "values"})
_ROW_KEYS: Final = frozenset(
    {
        *("from", "until", "jurisdiction", "value", "low", "likely", "high"),
        *("source", "also", "where", "rests_on", "kind", "scope", "standing", "binds"),
    }
)


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
    rests_on
        What kind of evidence that is, in plain words; empty where `where` says it.
    kind, standing
        What stands behind it and how it was come by.
    jurisdiction
        ISO 3166 code of the place it holds in; None where it holds anywhere.
    since, until
        First and last day in force; `until` is None while it is open.
    binds
        Whom a row of law binds; None of every other row.
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
    rests_on: str
    kind: Kind
    standing: Standing
    jurisdiction: str | None
    since: datetime.date
    until: datetime.date | None
    binds: Binds | None = None

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
        """The value as an estimate that names its rule, its sources and what they are."""
        case = ", ".join(f"{key} {word}" for key, word in self.case)
        basis = f"{self.name} ({case})" if case else self.name
        return Estimate(
            low=self.low,
            likely=self.likely,
            high=self.high,
            unit=self.unit,
            basis=f"{basis}; rests on {self.rests_on}" if self.rests_on else basis,
            sources=self.sources,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule: its cases and its dated rows, newest last."""

    name: str
    by: tuple[str, ...]
    rows: tuple[RuleValue, ...]


def rule_from(
    name: str, table: Mapping[str, Any], *, units: Mapping[str, str], sources: Mapping[str, Source]
) -> Rule:
    """Return a rule of a parsed file, or refuse an incomplete one."""
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
    kind = Kind(row.get("kind", table["kind"]))
    if kind is Kind.LAW and not row.get("jurisdiction"):
        raise RulebookBroken(rule=name, fault="a row of law has no place")
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
        rests_on=str(row.get("rests_on", "")),
        kind=kind,
        standing=Standing(row.get("standing", sources[row["source"]].standing)),
        jurisdiction=row.get("jurisdiction"),
        since=row["from"],
        until=row.get("until"),
        binds=_binds(name, row, table=table, kind=kind),
    )


def _binds(
    name: str, row: Mapping[str, Any], *, table: Mapping[str, Any], kind: Kind
) -> Binds | None:
    if kind is not Kind.LAW:
        return None
    return binds_from(name, row.get("binds", table.get("binds")), needed=True)


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
        key = (row.case, row.jurisdiction, row.since, row.binds)
        if key in seen:
            raise RulebookBroken(rule=name, fault=f"two rows start on {row.since} for {row.case}")
        seen.add(key)
        kept.append(row)
    return kept
