"""Places whose law is inherited, and whom to ask about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.rules.faults import RulebookBroken


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Unions with their members, and the authority for waste of each place.

    Parameters
    ----------
    members
        Union -> ISO 3166 codes of the countries its law holds in.
    authorities
        ISO 3166 code -> the name of who answers questions there.
    sources
        Keys of the sources of both.
    """

    members: Mapping[str, frozenset[str]]
    authorities: Mapping[str, str]
    sources: frozenset[str]

    def widening(self, jurisdiction: str | None) -> tuple[str | None, ...]:
        """Return the places whose rows may speak at a place, the narrowest first."""
        if jurisdiction is None:
            return (None,)
        country = jurisdiction.split("-", 1)[0]
        own = (jurisdiction,) if country == jurisdiction else (jurisdiction, country)
        unions = tuple(sorted(name for name, of in self.members.items() if country in of))
        return (*own, *unions, None)

    def authority(self, jurisdiction: str | None) -> str:
        """Return whom to ask about the law of a place."""
        for place in self.widening(jurisdiction):
            if place is not None and place in self.authorities:
                return self.authorities[place]
        return "the authority for waste there"


NOWHERE = Places(members={}, authorities={}, sources=frozenset())


def places_in(table: Mapping[str, Any]) -> Places:
    """Return the places of a parsed ``places.toml``, or refuse an incomplete one."""
    members: dict[str, frozenset[str]] = {}
    authorities: dict[str, str] = {}
    for code, entry in table.items():
        unknown = set(entry) - {"members", "authority", "source", "where"}
        if unknown or not entry.get("source"):
            raise RulebookBroken(rule=f"places.{code}", fault="unknown keys, or no source")
        if "members" in entry:
            members[code] = frozenset(entry["members"])
        if "authority" in entry:
            authorities[code] = str(entry["authority"])
    return Places(
        members=members,
        authorities=authorities,
        sources=frozenset(str(entry["source"]) for entry in table.values()),
    )
