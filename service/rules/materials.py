"""The library of compost and mulch materials: what each is made of, with its ranges."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from service.core.measures.estimates import Estimate
from service.rules.faults import RulebookBroken
from service.rules.sources import Source

_PROPERTIES: Final = (
    ("nitrogen_fraction", "1"),
    ("carbon_to_nitrogen", "1"),
    ("moisture", "1"),
    ("bulk_density_kg_per_m3", "kg/m3"),
)
_KEYS: Final = frozenset({"name", "role", "note", *(name for name, _ in _PROPERTIES)})
_ROLES: Final = ("green", "brown")


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """One material of the library.

    Parameters
    ----------
    name
        Key of the material, as the API speaks it.
    role
        "green" (wet, rich in nitrogen) or "brown" (dry, rich in carbon).
    nitrogen_fraction
        Nitrogen per dry matter [kg/kg].
    carbon_to_nitrogen
        Carbon per nitrogen [kg/kg].
    moisture
        Water per wet mass [kg/kg].
    bulk_density_kg_per_m3
        Wet mass per volume as heaped [kg/m3].
    note
        What a reader must know before using it; may be empty.
    """

    name: str
    role: str
    nitrogen_fraction: Estimate
    carbon_to_nitrogen: Estimate
    moisture: Estimate
    bulk_density_kg_per_m3: Estimate
    note: str

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of every source behind the row, sorted."""
        return tuple(
            sorted({key for name, _ in _PROPERTIES for key in getattr(self, name).sources})
        )


def material_rows(
    table: Mapping[str, Any], *, sources: Mapping[str, Source]
) -> dict[str, MaterialRow]:
    """Return the rows of a parsed ``materials.toml``, or refuse an incomplete one."""
    rows: dict[str, MaterialRow] = {}
    for entry in table["materials"]:
        row = _material(entry, sources=sources)
        if row.name in rows:
            raise RulebookBroken(rule=f"materials.{row.name}", fault="it stands there twice")
        rows[row.name] = row
    return rows


def _material(entry: Mapping[str, Any], *, sources: Mapping[str, Source]) -> MaterialRow:
    name = str(entry.get("name", ""))
    rule = f"materials.{name}"
    unknown = set(entry) - _KEYS
    if not name or unknown:
        raise RulebookBroken(rule=rule, fault=f"no name, or unknown keys {sorted(unknown)}")
    if entry.get("role") not in _ROLES:
        raise RulebookBroken(rule=rule, fault=f"role is none of {_ROLES}")
    found = {
        key: _property(f"{rule}.{key}", entry.get(key, {}), unit=unit, sources=sources)
        for key, unit in _PROPERTIES
    }
    return MaterialRow(name=name, role=entry["role"], note=str(entry.get("note", "")), **found)


def _property(
    rule: str, cell: Mapping[str, Any], *, unit: str, sources: Mapping[str, Source]
) -> Estimate:
    ends = [cell.get(end) for end in ("low", "likely", "high")]
    if any(
        isinstance(end, bool) or not isinstance(end, int | float) or not math.isfinite(end)
        for end in ends
    ):
        raise RulebookBroken(rule=rule, fault="low, likely and high are needed")
    if not cell.get("where") or cell.get("source") not in sources:
        raise RulebookBroken(rule=rule, fault="a listed source and the place in it are needed")
    keys = (cell["source"], *cell.get("also", ()))
    if not set(keys) <= set(sources):
        raise RulebookBroken(rule=rule, fault=f"one of {keys} is not in sources.toml")
    low, likely, high = (float(end) for end in ends if end is not None)
    return Estimate(
        low=low, likely=likely, high=high, unit=unit, basis=rule, sources=tuple(sorted(set(keys)))
    )
