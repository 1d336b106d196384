"""Whose language a page is in: chosen on the page, kept on the device, or else the browser's."""

from __future__ import annotations

from typing import Final

from flask import request
from werkzeug.wrappers import Response as AnyResponse

from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from service.usecases.telling.in_language import first_known

# In an address and on the device; it says nothing of anybody but what they read.
NAME: Final = "language"
KEPT_S: Final = 365 * 24 * 3600


def spoken() -> Reader:
    """Return the reader of a page that is nobody's in particular."""
    for code in (request.args.get(NAME), request.cookies.get(NAME)):
        if code in LANGUAGES:
            return Reader(code)
    return Reader(first_known(word for word, quality in request.accept_languages if quality > 0))


def keeps_language(response: AnyResponse, *, secure: bool) -> AnyResponse:
    """Return the response, with which the device keeps the language that was chosen on the page."""
    chosen = request.args.get(NAME)
    if chosen in LANGUAGES:
        response.set_cookie(
            NAME, chosen, max_age=KEPT_S, path="/", secure=secure, httponly=True, samesite="Lax"
        )
    response.vary.update(("Accept-Language", "Cookie"))
    return response


def tongues() -> tuple[tuple[str, str], ...]:
    """Return the languages to choose from: their codes, and their own names."""
    return tuple((code, Reader(code).text("language.name")) for code in LANGUAGES)
