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
import tomllib
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Final

from service.core.errors import Refusal
from service.rules.binding import Law, LawFacts, law_of
from service.rules.faults import RulebookBroken
from service.rules.materials import MaterialRow, material_rows
from service.rules.places import NOWHERE, Places, places_in
from service.rules.rows import Kind, Rule, RuleValue, Standing, rule_from
from service.rules.sources import Source, sources_in
from service.rules.treatments import TreatmentTable, treatment_table

__all__ = [
    "Kind",
    "Law",
    "LawFacts",
    "Rule",
    "RuleNotInForce",
    "RuleUnknown",
    "RuleValue",
    "Rulebook",
    "Ruled",
    "Standing",
]

_TABLE_FILES: Final = ("sources", "materials", "treatments", "units")
_OWN_FILES: Final = (*_TABLE_FILES, "places")


class RuleUnknown(Refusal):
    """No rule has this name."""

    code = "rule_unknown"
    sentence = "There is no rule called {name}."


class RuleNotInForce(Refusal):
    """No row of the rule covers the day, the place and the case asked for."""

    code = "rule_not_in_force"
    sentence = "Rule {name} has no value for {case} on {day} in {jurisdiction}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruled:
    """A row as it stands where it was asked about: as law, as advice, or nobody knows.

    Parameters
    ----------
    row
        The row that speaks.
    law
        Whether it binds; advice does not.
    missing, ask
        What is not recorded, and who could tell, where it is not known.
    """

    row: RuleValue
    law: Law
    missing: tuple[str, ...] = ()
    ask: str = ""


# Answers of a rulebook that are remembered: a day asks for some hundreds.
MOST_REMEMBERED: Final = 10_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
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
    places: Places = NOWHERE
    _found: dict[Hashable, tuple[RuleValue, ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _law: dict[Hashable, Ruled] = field(default_factory=dict, init=False, repr=False, compare=False)

    @classmethod
    def load(cls, path: Path | None = None) -> "Rulebook":
        """Read a folder of rule files and refuse it unless every row is complete.

        Parameters
        ----------
        path
            Folder of TOML files; None for those that come with the service, read once a process.

        Raises
        ------
        RulebookBroken
            If a row lacks its unit, scope, source or place in it, names a unit
            or source that is not listed, or covers a day twice.
        """
        return _shipped() if path is None else cls._read(path)

    @classmethod
    def _read(cls, path: Path | None) -> "Rulebook":
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
        for file_name in sorted(set(data) - set(_OWN_FILES)):
            for name, table in data[file_name].items():
                if name in rules:
                    raise RulebookBroken(rule=name, fault="two files define it")
                rules[name] = rule_from(name, table, units=units, sources=sources)
        return cls(
            version=digest.hexdigest()[:16],
            rules=MappingProxyType(rules),
            sources=MappingProxyType(sources),
            units=MappingProxyType(units),
            materials=MappingProxyType(material_rows(data["materials"], sources=sources)),
            treatments=treatment_table(data["treatments"], sources=sources),
            places=places_in(data.get("places", {})),
        )

    def value_on(
        self, name: str, day: datetime.date, *, jurisdiction: str | None = None, **case: str
    ) -> RuleValue:
        """Return the value of a rule on a day, whomever it binds: `ruled_on` says whether.

        Parameters
        ----------
        name
            Name of the rule.
        day
            The day that counts for it, in the depot's calendar.
        jurisdiction
            ISO 3166 code such as ``GB-ENG`` or ``US-IL``. The narrowest row
            wins: US-IL before US before a row without a place; PL before EU.
        case
            One word for each of the rule's cases, e.g. ``wetness="dry"``.

        Raises
        ------
        RuleUnknown, RuleNotInForce
        """
        return self._rows_on(name, day, jurisdiction=jurisdiction, case=case)[0]

    def ruled_on(self, name: str, day: datetime.date, facts: LawFacts, **case: str) -> Ruled:
        """Return the value of a rule on a day where these facts are on record, and whether as law.

        A row of law that binds goes before all others, the narrowest place first. Where it is
        not known whether one binds, the strictest of such rows and of the advice speaks, as
        advice. Rows that do not bind say nothing.

        Parameters
        ----------
        name, day, case
            As for `value_on`.
        facts
            What is recorded of the place.

        Raises
        ------
        RuleUnknown, RuleNotInForce
        """
        asked = (name, day, facts, *sorted(case.items()))
        known = self._law.get(asked)
        if known is None:
            if len(self._law) >= MOST_REMEMBERED:
                self._law.clear()
            known = self._law.setdefault(asked, self._ruled_anew(name, day, facts, case))
        return known

    def _ruled_anew(
        self, name: str, day: datetime.date, facts: LawFacts, case: Mapping[str, str]
    ) -> Ruled:
        open_rows: list[tuple[RuleValue, tuple[str, ...]]] = []
        for row in self._rows_on(name, day, jurisdiction=facts.jurisdiction, case=case):
            if row.binds is None:
                open_rows.append((row, ()))
                break  # wider advice is not asked for
            law, missing = law_of(row.binds, facts)
            if law is Law.BINDS:
                return Ruled(row=row, law=Law.BINDS)
            if law is Law.NOT_KNOWN:
                open_rows.append((row, missing))
        if not open_rows:
            raise _not_in_force(name, day, facts.jurisdiction, case)
        strictest = min if name.endswith("_max") else max
        # Of equals the first stands: a legal row says more than advice.
        row, missing = strictest(open_rows, key=lambda found: found[0].value)
        return Ruled(
            row=row,
            law=Law.NOT_KNOWN if missing else Law.DOES_NOT_BIND,
            missing=missing,
            ask=self.places.authority(facts.jurisdiction),
        )

    def _rows_on(
        self,
        name: str,
        day: datetime.date,
        *,
        jurisdiction: str | None,
        case: Mapping[str, str],
    ) -> tuple[RuleValue, ...]:
        """Return the rows that may speak, the narrowest and newest first, or refuse.

        A day asks the same of its rules for every bed and lot: what was found is remembered.
        """
        asked = (name, day, jurisdiction, *sorted(case.items()))
        known = self._found.get(asked)
        if known is not None:
            return known
        rule = self.rules.get(name)
        if rule is None:
            raise RuleUnknown(name=name)
        wanted = tuple((key, case[key]) for key in rule.by if key in case)
        found: list[RuleValue] = []
        if len(wanted) == len(rule.by) == len(case):
            for place in self.places.widening(jurisdiction):
                found += [
                    row
                    for row in reversed(rule.rows)
                    if row.case == wanted and row.jurisdiction == place and _covers(row, day)
                ]
        if not found:
            raise _not_in_force(name, day, jurisdiction, case)
        if len(self._found) >= MOST_REMEMBERED:
            self._found.clear()
        return self._found.setdefault(asked, tuple(found))

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


def _not_in_force(
    name: str, day: datetime.date, jurisdiction: str | None, case: Mapping[str, str]
) -> RuleNotInForce:
    return RuleNotInForce(
        name=name,
        case=dict(case) or "any case",
        day=day,
        jurisdiction=jurisdiction or "any place",
    )


@cache
def _shipped() -> Rulebook:
    return Rulebook._read(None)  # noqa: SLF001 - for `Rulebook.load` alone


def _texts_in(path: Path | None) -> dict[str, str]:
    folder: Traversable = resources.files("service.rules") if path is None else path
    files = sorted(
        (entry for entry in folder.iterdir() if entry.name.endswith(".toml")),
        key=lambda entry: entry.name,
    )
    return {entry.name.removesuffix(".toml"): entry.read_text(encoding="utf-8") for entry in files}
