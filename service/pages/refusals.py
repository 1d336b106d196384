"""What a screen refuses before any use case is asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.core.errors import Refusal
from service.documents.rendering.reader import Reader
from service.usecases.telling.in_language import sentence_of

FOR_PROGRAMS = "; see errors."


def lines_of(problem: Mapping[str, Any]) -> list[str]:
    """Return a problem as people read it: what it says, then every fault."""
    faults = [fault["detail"] for fault in problem.get("errors", ())]
    return [problem["detail"].replace(FOR_PROGRAMS, ":"), *faults]


def in_words(refusal: Refusal, problem: Mapping[str, Any], reader: Reader) -> Mapping[str, Any]:
    """Return a problem with what it says in the words of its reader, where there are any."""
    sentence = reader.table("refusal").get(problem["code"])
    if sentence is None:
        return problem
    facts = {name: _fact(name, value, reader) for name, value in refusal.facts.items()}
    if "seat_id" in facts:
        facts["seat"] = reader.text(f"seat.{facts['seat_id']}")
    said = [sentence.format_map(facts)]
    verdict = refusal.facts.get("verdict")
    if isinstance(verdict, Mapping):  # why a place takes nothing of it
        said += filter(None, [sentence_of(verdict, reader.code)])
    return {**problem, "title": reader.text("screen.not_done"), "detail": " ".join(said)}


def _fact(name: str, value: object, reader: Reader) -> str:
    """Return a fact of a refusal as its reader writes it."""
    if name != "state":
        return reader.told(value)
    word = str(value).replace(" ", "_")
    tables = reader.table("load_state"), reader.table("job_state")
    return next((words[word] for words in tables if word in words), str(value))


class NotJoined(Refusal):
    """The device has no session, or it was ended."""

    code = "not_joined"
    sentence = "This device is not known here, or was shown out. Ask for a link to join."


class OtherSeat(Refusal):
    """The screen is somebody else's."""

    code = "other_seat"
    sentence = "You joined as {seat}; this screen is for others."


class OtherOrigin(Refusal):
    """A request that changes something comes from another page than ours."""

    code = "other_origin"
    sentence = "What changes something is asked from a page of this service only."


class NotPrivate(Refusal):
    """A session over plain HTTP could be read on the way."""

    code = "not_private"
    sentence = (
        "Nobody joins at {address}: it is plain HTTP, and whoever listens on the way could go on "
        "in your name. Put a proxy that speaks TLS in front, or join on the machine itself."
    )


class AlreadySaid(Refusal):
    """Somebody else said something of it before this report came in."""

    code = "already_said"
    sentence = "{what}. Look at it again; if that is wrong, tell the office."
