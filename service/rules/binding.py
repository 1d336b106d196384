"""Whom a legal row binds, and whether it binds here: yes, no, or not known, and what is missing.

A row of law names its place, the kinds of ground, the legal bases of a bed and the carriers it
binds, beside the days it is in force and the clause. It acts as law only where all of that is on
record as met. Where something is not recorded it is not known whether it binds; that is an answer
of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from service.rules.faults import RulebookBroken

ANY: Final = "any"
_KEYS: Final = ("ground", "basis", "carriers")


@dataclass(frozen=True, slots=True, kw_only=True)
class Binds:
    """The kinds of ground, legal bases and carriers a row binds; "any" where it asks for none.

    Parameters
    ----------
    ground
        Kinds of ground as core names them, such as ``farm_holding_in_nitrate_zone``.
    basis
        Exemptions or kinds of basis, such as ``u13`` or ``permit``.
    carriers
        Who brings it: ``firm``, ``grower``, ``refuse_vehicle``.
    """

    ground: tuple[str, ...]
    basis: tuple[str, ...]
    carriers: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LawFacts:
    """What is recorded of a place that a law could ask for; None: it is not recorded."""

    jurisdiction: str | None
    ground: str | None = None
    basis: str | None = None
    carrier: str | None = None


class Law(StrEnum):
    """Whether a legal row binds."""

    BINDS = "binds"
    NOT_KNOWN = "not_known"
    DOES_NOT_BIND = "does_not_bind"


def law_of(binds: Binds, facts: LawFacts) -> tuple[Law, tuple[str, ...]]:
    """Return whether a row of the place binds, and which facts are missing to tell."""
    asked = (
        ("ground", binds.ground, facts.ground),
        ("basis", binds.basis, facts.basis),
        ("carrier", binds.carriers, facts.carrier),
    )
    open_ones = [(name, words, fact) for name, words, fact in asked if ANY not in words]
    if any(fact is not None and fact not in words for _, words, fact in open_ones):
        return Law.DOES_NOT_BIND, ()
    missing = tuple(name for name, _, fact in open_ones if fact is None)
    return (Law.NOT_KNOWN, missing) if missing else (Law.BINDS, ())


def binds_from(rule: str, table: Mapping[str, Any] | None, *, needed: bool) -> Binds | None:
    """Return whom a row binds, or refuse a row of law that does not say it."""
    if table is None:
        if needed:
            raise RulebookBroken(rule=rule, fault="a row of law does not say whom it binds")
        return None
    if set(table) != set(_KEYS) or not all(
        table[key] and all(isinstance(word, str) for word in table[key]) for key in _KEYS
    ):
        raise RulebookBroken(rule=rule, fault=f"binds needs lists of words under {_KEYS}")
    return Binds(**{key: tuple(table[key]) for key in _KEYS})
