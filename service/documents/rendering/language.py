"""The words of one language: whole sentences by key, read once from its files."""

import string
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final

from service.documents.facts.refusals import LanguageUnknown

LANGUAGES: Final = ("en", "es", "es-ES", "fr", "pl", "pt", "ro")

FOLDERS: Final = (".", "crew", "gate")
_LAST_TEEN: Final = 19


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """A language: its marks, and its sentences by dotted key.

    Parameters
    ----------
    code
        ISO 639-1 code.
    decimal_mark, group_mark
        Marks in numbers.
    group_from
        Digits before the decimal mark from which they are grouped in threes.
    read_by_speaker
        Whether somebody whose language it is has read it; else a machine alone made it.
    sentences
        Every text of the language file by its dotted key.
    """

    code: str
    decimal_mark: str
    group_mark: str
    group_from: int
    read_by_speaker: bool
    sentences: Mapping[str, str]

    def sentence(self, key: str, /, **gaps: str) -> str:
        """Return a sentence with its gaps filled by texts already in this language."""
        return self.sentences[key].format(**gaps)


def gaps_of(sentence: str) -> frozenset[str]:
    """Return the names of the gaps of a sentence."""
    return frozenset(name for _, name, _, _ in string.Formatter().parse(sentence) if name)


@cache
def language(code: str) -> Language:
    """Return a language by its ISO 639-1 code.

    Raises
    ------
    LanguageUnknown
        If there is no file for it.
    """
    if code not in LANGUAGES:
        raise LanguageUnknown(language=code, allowed=", ".join(LANGUAGES))
    base = code.partition("-")[0]
    # A variant of a place has only what is said otherwise there.
    trees = [_tree(folder, name) for name in dict.fromkeys((base, code)) for folder in FOLDERS]
    about = {name: mark for tree in trees for name, mark in tree.get("language", {}).items()}
    return Language(
        code=code,
        decimal_mark=about["decimal_mark"],
        group_mark=about["group_mark"],
        group_from=about["group_from"],
        read_by_speaker=about["read_by_speaker"],
        sentences=MappingProxyType({key: text for tree in trees for key, text in _flat(tree, "")}),
    )


def unread_languages() -> tuple[str, ...]:
    """Return the names of the languages that no speaker has read yet: the owner is told."""
    known = (language(code) for code in LANGUAGES)
    return tuple(words.sentences["language.name"] for words in known if not words.read_by_speaker)


def _tree(folder: str, code: str) -> dict[str, Any]:
    """Return the file of a language: of the note, or of what crews or gates read."""
    path = files("service.documents").joinpath("languages", folder, f"{code}.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _flat(tree: Mapping[str, object], prefix: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for key, value in tree.items():
        if isinstance(value, Mapping):
            found += _flat(value, f"{prefix}{key}.")
        elif isinstance(value, str):
            found.append((f"{prefix}{key}", value))
    return found


def plural_category(code: str, number: str) -> str:
    """Return the plural category of a number written with a decimal point.

    Parameters
    ----------
    code
        ISO 639-1 code of the language.
    number
        Digits with at most one decimal point, e.g. ``"5"`` or ``"2.5"``.

    References
    ----------
    Unicode CLDR 47, Language Plural Rules, cardinals of en, es, fr, pl, pt and ro (the category
    "many" of es, fr and pt for whole millions never occurs on a note).
    """
    language_code = code.partition("-")[0]
    whole, _, part = number.partition(".")
    count = int(whole)
    if language_code in {"fr", "pt"}:
        return "one" if count in {0, 1} else "other"
    if language_code == "ro":
        return _romanian(count, has_part=bool(part))
    if part:
        return "other"
    if count == 1:
        return "one"
    if language_code != "pl":
        return "other"
    few = count % 10 in {2, 3, 4} and count % 100 not in {12, 13, 14}
    return "few" if few else "many"


def _romanian(count: int, *, has_part: bool) -> str:
    if count == 1 and not has_part:
        return "one"
    few = has_part or count == 0 or 1 <= count % 100 <= _LAST_TEEN
    return "few" if few else "other"
