"""In which language the sentences of an answer are, by what its caller reads (RFC 9110, 12.5.4)."""

from __future__ import annotations

from typing import Any, Final

from flask import Response, jsonify, request

from service.documents.rendering.language import LANGUAGES
from service.usecases.telling.in_language import first_known, in_language

ACCEPT_LANGUAGE: Final = {
    "in": "header",
    "name": "Accept-Language",
    "description": (
        "In which language sentences are, of those that notes know; `Content-Language` says which "
        "it is. English without it, and for what has no sentence in that language yet."
    ),
    "schema": {"type": "string"},
    "example": "es-MX, es;q=0.9",
}
CONTENT_LANGUAGE: Final = {
    "Content-Language": {
        "description": "Of the sentences; see `Accept-Language`.",
        "schema": {"type": "string", "enum": list(LANGUAGES)},
    }
}


def asked_language() -> str:
    """Return the language that a request asks for; English without one that is known."""
    return first_known(wanted for wanted, quality in request.accept_languages if quality > 0)


def worded(told: Any) -> Response:
    """Return an answer as JSON with its sentences in the language that was asked for."""
    return in_words(jsonify(in_language(told, asked_language())))


def in_words(response: Response) -> Response:
    """Say of a response in which language it is, and that others are kept apart."""
    response.headers["Content-Language"] = asked_language()
    response.vary.add("Accept-Language")
    return response
