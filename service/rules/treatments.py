"""What was put on a lawn, and how long its clippings must stay away from where.

One row of ``treatments.toml`` is a wait: some active ingredients or families, some kinds of
destination, a place, and what must have happened before clippings may go there.
Which row is read is decided here; what follows from it is in
``service.agronomy.treatments.waits``.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from service.rules.faults import RulebookBroken
from service.rules.sources import Source
from service.rules.treatment_rows import (
    DESTINATIONS,
    KeptRow,
    Substance,
    WaitRow,
    kept_in,
    waits_in,
)

__all__ = ["KeptRow", "Substance", "TreatmentTable", "WaitRow", "treatment_table"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentTable:
    """All known active ingredients, their waits, and what stays on the lawn."""

    substances: Mapping[str, Substance]
    names: Mapping[str, str]
    waits: tuple[WaitRow, ...]
    kept: tuple[KeptRow, ...] = ()

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
        """Return what is in force for each destination: the narrowest rule, and wider advice.

        Advice that holds everywhere still holds where a label's own words ask for less.

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
            binding = [row for row in rows if _binds(row)]
            advised = [row for row in rows if not _binds(row)]
            found += [max(some, key=_narrowest) for some in (binding, advised) if some]
        return tuple(found)

    def kept_on_lawn(
        self, substance: str, day: datetime.date, *, jurisdiction: str | None = None
    ) -> KeptRow | None:
        """Return what keeps clippings on the lawn that was treated, or None.

        Parameters
        ----------
        substance, day, jurisdiction
            As for `waits_on`.
        """
        rows = [
            row
            for row in self.kept
            if row.substance == substance
            and row.since <= day
            and (row.until is None or day <= row.until)
            and _holds_in(row.jurisdiction, jurisdiction)
        ]
        return max(rows, key=_narrowest, default=None)


def treatment_table(table: Mapping[str, Any], *, sources: Mapping[str, Source]) -> TreatmentTable:
    """Return the table of a parsed ``treatments.toml``, or refuse an incomplete one."""
    substances: dict[str, Substance] = {}
    names: dict[str, str] = {}
    for entry in table["substances"]:
        substance = Substance(
            name=entry["name"],
            cas=entry.get("cas", ""),
            cas_source=entry.get("cas_source"),
            group=entry["group"],
            family=entry["family"],
            also_called=tuple(entry.get("also_called", ())),
        )
        substances[substance.name] = substance
        if substance.cas_source is not None and substance.cas_source not in sources:
            raise RulebookBroken(rule="treatments", fault=f"no source {substance.cas_source}")
        for written in filter(None, (substance.name, substance.cas, *substance.also_called)):
            if names.setdefault(_folded(written), substance.name) != substance.name:
                raise RulebookBroken(rule="treatments", fault=f"{written} means two substances")
    waits = tuple(
        row
        for entry in table["waits"]
        for row in waits_in(entry, substances=substances, sources=sources)
    )
    kept = tuple(
        row
        for entry in table.get("kept_on_lawn", ())
        for row in kept_in(entry, substances=substances, sources=sources)
    )
    return TreatmentTable(
        substances=MappingProxyType(substances),
        names=MappingProxyType(names),
        waits=waits,
        kept=kept,
    )


def _binds(row: WaitRow) -> bool:
    return row.kind in {"law", "label"}


def _narrowest(row: WaitRow | KeptRow) -> tuple[int, datetime.date]:
    return len(row.jurisdiction or ""), row.since


def _holds_in(rule_place: str | None, place: str | None) -> bool:
    return rule_place is None or place == rule_place or (place or "").startswith(f"{rule_place}-")


def _folded(written: str) -> str:
    return "".join(written.casefold().split())
