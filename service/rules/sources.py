"""The sources behind the rules: who printed it, where, and when it was read."""

import datetime
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from service.rules.faults import RulebookBroken

_STANDINGS: Final = ("read", "second hand", "memory", "practice")
_KEYS: Final = frozenset(
    {
        "author",
        "year",
        "title",
        "address",
        "seen",
        "standing",
        "through",
        "licence",
        "erratum",
        "note",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One source: a paper, a regulation, a table, or plain common practice.

    Parameters
    ----------
    key
        The name rows use for it.
    author, title, year
        As printed; `year` is None where none is printed.
    address
        DOI or address it was read at; empty for common practice.
    seen
        Day it was read; None if it was not.
    standing
        "read", "second hand" (through another text, named in `through`),
        "memory" (unverified) or "practice" (of the trade, no source).
    licence
        What may be quoted: facts and short passages unless said otherwise.
    erratum
        A fault of the printed text that was found; empty if none.
    """

    key: str
    author: str
    title: str
    year: int | None
    address: str
    seen: datetime.date | None
    standing: str
    through: str
    licence: str
    erratum: str
    note: str

    @property
    def cited(self) -> str:
        """Who printed it and when, as a reader finds it: the first author, and the year."""
        if self.standing == "practice":
            return self.title.lower()
        first, *others = self.author.split(", ")
        # A second part without initials belongs to the name: "T. Richard, Cornell Waste ...".
        are_people = bool(others) and all("." in name for name in (first, *others))
        author = f"{first} and others" if are_people else self.author
        return author if self.year is None else f"{author} {self.year}"


@cache
def shipped_sources() -> Mapping[str, Source]:
    """Return the sources that come with the service."""
    text = files("service.rules").joinpath("sources.toml").read_text(encoding="utf-8")
    return sources_in(tomllib.loads(text))


def cited(keys: Iterable[str]) -> tuple[str, ...]:
    """Return sources as people read them, each once; a key that is gone stands as it was kept."""
    known = shipped_sources()
    return tuple(dict.fromkeys(known[key].cited if key in known else key for key in keys))


def sources_in(tables: Mapping[str, Any]) -> dict[str, Source]:
    """Return the sources of a parsed ``sources.toml``, or refuse an incomplete one."""
    return {key: _source(key, table) for key, table in tables.items()}


def _source(key: str, table: Mapping[str, Any]) -> Source:
    unknown = set(table) - _KEYS
    if unknown:
        raise RulebookBroken(rule=f"sources.{key}", fault=f"unknown keys {sorted(unknown)}")
    standing = str(table.get("standing", "read"))
    if standing not in _STANDINGS:
        raise RulebookBroken(
            rule=f"sources.{key}", fault=f"standing {standing} is none of {_STANDINGS}"
        )
    for needed in ("author", "title"):
        if not table.get(needed):
            raise RulebookBroken(rule=f"sources.{key}", fault=f"no {needed}")
    if standing in {"read", "second hand"} and not (table.get("seen") and table.get("address")):
        raise RulebookBroken(rule=f"sources.{key}", fault="read, but no address and day")
    return Source(
        key=key,
        author=str(table["author"]),
        title=str(table["title"]),
        year=table.get("year"),
        address=str(table.get("address", "")),
        seen=table.get("seen"),
        standing=standing,
        through=str(table.get("through", "")),
        licence=str(table.get("licence", "facts and short quotations")),
        erratum=str(table.get("erratum", "")),
        note=str(table.get("note", "")),
    )
