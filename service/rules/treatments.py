"""What was put on a lawn, and how long its clippings must stay away from where.

One row of ``treatments.toml`` is a wait: some active ingredients, some kinds of
destination, a place, and what must have happened before clippings may go there.
Which row is read is decided here; what follows from it is in
``service.agronomy.treatments.waits``.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from service.rules.faults import RulebookBroken
from service.rules.sources import Source

DESTINATIONS: Final = ("bed", "edible_bed", "compost_site", "lawn")
_KINDS: Final = ("law", "label", "advice", "measured")
_WAIT_KEYS: Final = frozenset(
    {
        *("substances", "destinations", "jurisdiction", "from", "until", "days", "mowings"),
        *("composting_days", "never", "source", "also", "where", "scope", "kind", "standing"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """An active ingredient by its ISO common name.

    Parameters
    ----------
    name
        ISO 1750 common name of the parent acid or molecule.
    cas
        CAS registry number of the parent.
    group
        "herbicide", "insecticide", "fungicide", "growth regulator", "moss
        killer" or "fertiliser".
    also_called
        Salts, esters, isomers and spellings that mean the same parent.
    """

    name: str
    cas: str
    group: str
    also_called: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitRow:
    """What must have happened since a treatment before clippings may go somewhere.

    Parameters
    ----------
    substance, destination
        What was applied; one of `DESTINATIONS`.
    days, mowings
        Whole days and mowings since the treatment; both must have passed.
    composting_days
        Days of composting the material must still undergo there; 0 if none.
    never
        The material may never go there.
    """

    substance: str
    destination: str
    days: int
    mowings: int
    composting_days: int
    never: bool
    jurisdiction: str | None
    since: datetime.date
    until: datetime.date | None
    sources: tuple[str, ...]
    where: str
    scope: str
    kind: str
    standing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentTable:
    """All known active ingredients and their waits."""

    substances: Mapping[str, Substance]
    names: Mapping[str, str]
    waits: tuple[WaitRow, ...]

    def substance_of(self, written: str) -> Substance | None:
        """Return the active ingredient meant by a name or CAS number, or None.

        Parameters
        ----------
        written
            ISO common name, CAS number, or a listed salt, ester or synonym;
            case and spaces do not matter. None means unknown, never clean.
        """
        name = self.names.get(_folded(written))
        return None if name is None else self.substances[name]

    def waits_on(
        self, substance: str, day: datetime.date, *, jurisdiction: str | None = None
    ) -> tuple[WaitRow, ...]:
        """Return the wait in force for each destination, narrowest place first.

        Parameters
        ----------
        substance
            ISO common name as `substance_of` returns it.
        day
            The day that counts, in the depot's calendar.
        jurisdiction
            ISO 3166 code; law of other places does not bind.
        """
        found: list[WaitRow] = []
        for destination in DESTINATIONS:
            rows = [
                row
                for row in self.waits
                if row.substance == substance
                and row.destination == destination
                and row.since <= day
                and (row.until is None or day <= row.until)
                and _holds_in(row.jurisdiction, jurisdiction)
            ]
            if rows:
                found.append(max(rows, key=lambda row: (len(row.jurisdiction or ""), row.since)))
        return tuple(found)


def treatment_table(table: Mapping[str, Any], *, sources: Mapping[str, Source]) -> TreatmentTable:
    """Return the table of a parsed ``treatments.toml``, or refuse an incomplete one."""
    substances: dict[str, Substance] = {}
    names: dict[str, str] = {}
    for entry in table["substances"]:
        substance = Substance(
            name=entry["name"],
            cas=entry["cas"],
            group=entry["group"],
            also_called=tuple(entry.get("also_called", ())),
        )
        substances[substance.name] = substance
        for written in (substance.name, substance.cas, *substance.also_called):
            if names.setdefault(_folded(written), substance.name) != substance.name:
                raise RulebookBroken(rule="treatments", fault=f"{written} means two substances")
    waits = tuple(
        row
        for entry in table["waits"]
        for row in _waits(entry, substances=substances, sources=sources)
    )
    return TreatmentTable(
        substances=MappingProxyType(substances), names=MappingProxyType(names), waits=waits
    )


def _waits(
    entry: Mapping[str, Any], *, substances: Mapping[str, Substance], sources: Mapping[str, Source]
) -> list[WaitRow]:
    rule = f"treatments.waits {entry.get('substances')}"
    unknown = set(entry) - _WAIT_KEYS
    if unknown:
        raise RulebookBroken(rule=rule, fault=f"unknown keys {sorted(unknown)}")
    for key in ("substances", "destinations", "from", "source", "where", "scope", "kind"):
        if not entry.get(key):
            raise RulebookBroken(rule=rule, fault=f"no {key}")
    if not {"days", "mowings", "never"} & set(entry):
        raise RulebookBroken(rule=rule, fault="neither days, mowings nor never")
    keys = (entry["source"], *entry.get("also", ()))
    if (
        entry["kind"] not in _KINDS
        or not set(entry["destinations"]) <= set(DESTINATIONS)
        or not set(entry["substances"]) <= set(substances)
        or not set(keys) <= set(sources)
    ):
        raise RulebookBroken(
            rule=rule, fault="a kind, destination, substance or source is not listed"
        )
    return [
        WaitRow(
            substance=substance,
            destination=destination,
            days=int(entry.get("days", 0)),
            mowings=int(entry.get("mowings", 0)),
            composting_days=int(entry.get("composting_days", 0)),
            never=bool(entry.get("never", False)),
            jurisdiction=entry.get("jurisdiction"),
            since=entry["from"],
            until=entry.get("until"),
            sources=tuple(sorted(set(keys))),
            where=entry["where"],
            scope=entry["scope"],
            kind=entry["kind"],
            standing=entry.get("standing", sources[entry["source"]].standing),
        )
        for substance in entry["substances"]
        for destination in entry["destinations"]
    ]


def _holds_in(rule_place: str | None, place: str | None) -> bool:
    return rule_place is None or place == rule_place or (place or "").startswith(f"{rule_place}-")


def _folded(written: str) -> str:
    return "".join(written.casefold().split())
