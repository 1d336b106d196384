"""An answer in another language: whatever is told by code and facts has its sentence there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from service.core.errors import Refusal
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from service.documents.rendering.told_words import told_sentence

# The language of every sentence that is made with an answer, and of the office.
ENGLISH: Final = "en"
_KNOWN: Final = {code.casefold(): code for code in LANGUAGES}
_SENTENCES: Final = ("sentence", "why")
# What a crew must know of its vehicle, whatever its next stop is: what hurts first.
CREWS_WARNINGS: Final = (
    "load_stands",
    "do_not_tip",
    "do_not_tip_all",
    "vehicle_may_be_overloaded",
    "recalled_aboard",
    "aboard_overnight",
    "nobody_takes_what_is_aboard",
    "no_room_for_what_is_aboard",
)


def for_crew(warnings: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Return those of a vehicle's warnings that its crew must know, what hurts first."""
    known = [one for one in warnings if one["code"] in CREWS_WARNINGS]
    return sorted(known, key=lambda one: CREWS_WARNINGS.index(one["code"]))


def first_known(ranges: Iterable[str]) -> str:
    """Return the first language that notes know, of what somebody reads, best first; or English.

    A range of a place stands for its language where nothing is said for the place (RFC 4647, 3.4).
    """
    for wanted in ranges:
        tag = wanted.replace("_", "-").casefold()
        while tag:
            if tag in _KNOWN:
                return _KNOWN[tag]
            tag = tag.rpartition("-")[0]
    return ENGLISH


def in_language(told: object, code: str) -> object:
    """Return an answer with its sentences in a language; what has none there stays as it is.

    Parameters
    ----------
    told
        JSON-ready; where it has a ``code`` and a sentence, the facts are its own members or
        those of ``facts``.
    code
        Of a language that notes know; in English nothing changes.
    """
    if code == ENGLISH:
        return told
    if isinstance(told, Mapping):
        other = {name: in_language(member, code) for name, member in told.items()}
        sentence = sentence_of(told, code)
        for name in _SENTENCES:
            if sentence is not None and isinstance(told.get(name), str):
                other[name] = sentence
        return other
    if isinstance(told, (list, tuple)):
        return [in_language(item, code) for item in told]
    return told


def sentence_of(told: Mapping[str, Any], code: str) -> str | None:
    """Return what a member with a code says in a language; None without a sentence there."""
    word = told.get("code")
    if not isinstance(word, str):
        return None
    return told_sentence(word, {**told, **(told.get("facts") or {})}, language_code=code)


def refusal_in_words(refusal: Refusal, code: str) -> str | None:
    """Return what a refusal says to a crew or a gate in a language, if it has words for them."""
    reader = Reader(code)
    sentence = reader.table("refusal").get(refusal.code)
    if sentence is None:
        return None
    facts = {name: _fact(name, value, reader) for name, value in refusal.facts.items()}
    if "seat_id" in facts:
        facts["seat"] = reader.text(f"seat.{facts['seat_id']}")
    said = [sentence.format_map(facts)]
    verdict = refusal.facts.get("verdict")
    if isinstance(verdict, Mapping):  # why a place takes nothing of it
        said += filter(None, [sentence_of(verdict, reader.code)])
    return " ".join(said)


def _fact(name: str, value: object, reader: Reader) -> str:
    """Return a fact of a refusal as its reader writes it."""
    if name != "state":
        return reader.told(value)
    word = str(value).replace(" ", "_")
    tables = reader.table("load_state"), reader.table("job_state")
    return next((words[word] for words in tables if word in words), str(value))
