"""The small page behind a link that shows no note: what can be said, in every language."""

from __future__ import annotations

from enum import StrEnum

from markupsafe import Markup

from service.documents.rendering.html_note import dialled, style, template
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.language import language as language_of
from service.documents.rendering.plain_text import plain


class NoNote(StrEnum):
    """Why a link shows no note."""

    UNKNOWN = "unknown"
    ENDED = "ended"
    WITHDRAWN = "withdrawn"
    FAILED = "failed"


def render_link_page(
    why: NoNote, *, language: str | None = None, firm: str = "", phone: str = ""
) -> str:
    """Return the page; the reader's language, where one is known, stands first.

    Parameters
    ----------
    why
        Why there is no note.
    language
        One of `LANGUAGES`, if the link proves which is read there.
    firm, phone
        Whom to ask; empty where the link proves nothing.
    """
    lines: dict[str, str] = {}
    spoken: set[str] = set()
    for code in (*(found for found in LANGUAGES if found == language), *LANGUAGES):
        base = code.partition("-")[0]
        if base not in spoken:  # once as it is said at one place is enough
            spoken.add(base)
            lines[code] = language_of(code).sentences[f"link.{why}"]
    shown = next(iter(lines))
    return template("link.html.j2").render(
        title=language_of(shown).sentences["title.note"],
        language=shown,
        lines=lines.items(),
        firm=plain(firm),
        phone=plain(phone),
        dial=dialled(phone),
        style=Markup(style()),  # noqa: S704 -- made here
    )
