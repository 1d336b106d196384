"""What a screen refuses before any use case is asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.core.errors import Refusal
from service.usecases.base.idempotency import FirstTryUnfinished, KeyReusedForAnotherRequest
from service.usecases.base.languages import Reader
from service.usecases.telling.in_language import ENGLISH

FOR_PROGRAMS = "; see errors."
OF_HEADERS = frozenset({KeyReusedForAnotherRequest.code, FirstTryUnfinished.code})


def lines_of(problem: Mapping[str, Any]) -> list[str]:
    """Return a problem as people read it: what it says, then every fault."""
    faults = [fault["detail"] for fault in problem.get("errors", ())]
    return [problem["detail"].replace(FOR_PROGRAMS, ":"), *faults]


def in_words(refusal: Refusal, problem: Mapping[str, Any], reader: Reader) -> Mapping[str, Any]:
    """Return a problem with what it says in the words of its reader, where there are any.

    In English it stays as the interface tells it, but for what it tells of headers.
    """
    sentence = reader.table("refusal").get(problem["code"])
    if sentence is None or (reader.code == ENGLISH and problem["code"] not in OF_HEADERS):
        return problem
    return {**problem, "detail": sentence.format(state=refusal.facts.get("state", ""))}


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
