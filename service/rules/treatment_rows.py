"""The rows of the treatments table: active ingredients, waits, and what stays on the lawn."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from service.rules.faults import RulebookBroken
from service.rules.sources import Source

DESTINATIONS: Final = ("bed", "edible_bed", "compost_site", "lawn")
_KINDS: Final = ("law", "label", "advice", "measured")
_WAIT_KEYS: Final = frozenset(
    {
        *("substances", "families", "destinations", "jurisdiction", "from", "until"),
        *("days", "mowings"),
        *(
            "composting_days",
            "never",
            "bioassay_ends",
            "source",
            "also",
            "where",
            "scope",
            "kind",
            "standing",
        ),
    }
)
_KEPT_KEYS: Final = frozenset(
    {
        *("substances", "jurisdiction", "from", "until", "mowings", "no_end"),
        *("source", "also", "where", "scope", "kind", "standing"),
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
        CAS registry number of the parent; empty of a kind of product, such as lime.
    cas_source
        Where the number was read; None: from memory, unverified.
    group
        "herbicide", "insecticide", "fungicide", "growth regulator", "moss
        killer", "fertiliser", "soil improver", "seed" or "biological control".
    family
        How its clippings are treated where no row names the substance itself.
    also_called
        Salts, esters, isomers and spellings that mean the same parent.
    """

    name: str
    cas: str
    cas_source: str | None
    group: str
    family: str
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
    bioassay_ends
        Whether plants that grew well in the clippings end a never that names no end.
    """

    substance: str
    destination: str
    days: int
    mowings: int
    composting_days: int
    never: bool
    bioassay_ends: bool
    jurisdiction: str | None
    since: datetime.date
    until: datetime.date | None
    sources: tuple[str, ...]
    where: str
    scope: str
    kind: str
    standing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRow:
    """What a label keeps on the treated lawn itself.

    Parameters
    ----------
    substance
        What was applied.
    mowings
        The first mowings since the treatment whose clippings stay; None: no end is named.
    """

    substance: str
    mowings: int | None
    jurisdiction: str | None
    since: datetime.date
    until: datetime.date | None
    sources: tuple[str, ...]
    where: str
    scope: str
    kind: str
    standing: str


def waits_in(
    entry: Mapping[str, Any], *, substances: Mapping[str, Substance], sources: Mapping[str, Source]
) -> list[WaitRow]:
    """Return the waits of one entry, or refuse an incomplete one."""
    rule = f"treatments.waits {entry.get('substances') or entry.get('families')}"
    if not entry.get("destinations") or not set(entry["destinations"]) <= set(DESTINATIONS):
        raise RulebookBroken(rule=rule, fault="a destination is missing or not listed")
    if not {"days", "mowings", "never"} & set(entry):
        raise RulebookBroken(rule=rule, fault="neither days, mowings nor never")
    families = entry.get("families", ())
    if not set(families) <= {substance.family for substance in substances.values()}:
        raise RulebookBroken(rule=rule, fault="a family that no substance has")
    of_families = [one.name for one in substances.values() if one.family in families]
    entry = {**entry, "substances": [*entry.get("substances", ()), *of_families]}
    said = _checked(rule, entry, _WAIT_KEYS, substances=substances, sources=sources)
    return [
        WaitRow(
            substance=substance,
            destination=destination,
            days=int(entry.get("days", 0)),
            mowings=int(entry.get("mowings", 0)),
            composting_days=int(entry.get("composting_days", 0)),
            never=bool(entry.get("never", False)),
            bioassay_ends=bool(entry.get("bioassay_ends", False)),
            **said,
        )
        for substance in entry["substances"]
        for destination in entry["destinations"]
    ]


def kept_in(
    entry: Mapping[str, Any], *, substances: Mapping[str, Substance], sources: Mapping[str, Source]
) -> list[KeptRow]:
    """Return what one entry keeps on the lawn, or refuse an incomplete one."""
    rule = f"treatments.kept_on_lawn {entry.get('substances')}"
    if ("mowings" in entry) == bool(entry.get("no_end")):
        raise RulebookBroken(rule=rule, fault="it needs either mowings or no_end")
    said = _checked(rule, entry, _KEPT_KEYS, substances=substances, sources=sources)
    return [
        KeptRow(
            substance=substance,
            mowings=entry.get("mowings"),
            **said,
        )
        for substance in entry["substances"]
    ]


def _checked(
    rule: str,
    entry: Mapping[str, Any],
    known: frozenset[str],
    *,
    substances: Mapping[str, Substance],
    sources: Mapping[str, Source],
) -> dict[str, Any]:
    """Refuse an incomplete entry and return what every row of it says."""
    unknown = set(entry) - known
    if unknown:
        raise RulebookBroken(rule=rule, fault=f"unknown keys {sorted(unknown)}")
    for key in ("substances", "from", "source", "where", "scope", "kind"):
        if not entry.get(key):
            raise RulebookBroken(rule=rule, fault=f"no {key}")
    keys = (entry["source"], *entry.get("also", ()))
    if (
        entry["kind"] not in _KINDS
        or not set(entry["substances"]) <= set(substances)
        or not set(keys) <= set(sources)
    ):
        raise RulebookBroken(rule=rule, fault="a kind, substance or source is not listed")
    return {
        "jurisdiction": entry.get("jurisdiction"),
        "since": entry["from"],
        "until": entry.get("until"),
        "sources": tuple(sorted(set(keys))),
        **{name: entry[name] for name in ("where", "scope", "kind")},
        "standing": entry.get("standing", sources[entry["source"]].standing),
    }
