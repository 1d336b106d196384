"""What a screen refuses before any use case is asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.core.errors import Refusal
from service.documents.rendering.reader import Reader
from service.usecases.telling.in_language import refusal_in_words

FOR_PROGRAMS = "; see errors."


def lines_of(problem: Mapping[str, Any]) -> list[str]:
    """Return a problem as people read it: what it says, then every fault."""
    faults = [fault["detail"] for fault in problem.get("errors", ())]
    return [problem["detail"].replace(FOR_PROGRAMS, ":"), *faults]


def in_words(refusal: Refusal, problem: Mapping[str, Any], reader: Reader) -> Mapping[str, Any]:
    """Return a problem with what it says in the words of its reader, where there are any."""
    said = refusal_in_words(refusal, reader.code)
    if said is None:
        return problem
    title = "screen.join_first" if isinstance(refusal, NotJoined) else "screen.not_done"
    return {**problem, "title": reader.text(title), "detail": said}


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


class CutNotToldYet(Refusal):
    """A gate sends grass away whose crew has not told of the cut yet."""

    code = "cut_not_told_yet"
    sentence = (
        "{lots}: its crew has not said yet that it is mown. Say here that it is here, keep the "
        "slip, and say what was sent away once it is on record as mown."
    )


class AlreadySaid(Refusal):
    """Somebody else said something of it before this report came in."""

    code = "already_said"
    sentence = "{what}. Look at it again; if that is wrong, tell the office."
