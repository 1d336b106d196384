"""The note as one page of HTML: no script, nothing from outside, a form to answer with."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache, partial
from importlib.resources import files
from typing import Final

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from service.documents.composition.content import NoteContent
from service.documents.composition.drawing import layers_svg
from service.documents.facts.note import Acknowledged
from service.documents.rendering.formats import DisplayUnits, display_units, show
from service.documents.rendering.language import Language
from service.documents.rendering.language import language as language_of
from service.documents.rendering.page_policy import style_source
from service.documents.rendering.plain_text import plain
from service.documents.rendering.quick_code import code_svg
from service.documents.rendering.words import put_into_words, refusal_reasons

# The drawing is this wide in its own millimetres: on a phone its letters stay as large as
# the text around it.
_DRAWING_WIDTH_MM: Final = 92.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledgement:
    """An answer that was given, to be shown in place of the form.

    Parameters
    ----------
    answer
        What was answered.
    at
        When, with its zone, as it is to be shown.
    signed_by
        Name as written; empty if nobody was there.
    accepted, remark
        As written; empty if nothing was.
    reason
        One of `REASONS` or a reason in own words, for a load that was refused.
    """

    answer: Acknowledged
    at: datetime
    signed_by: str = ""
    accepted: str = ""
    reason: str | None = None
    remark: str = ""


def _template_text(name: str) -> str:
    return files("service.documents").joinpath("templates", name).read_text(encoding="utf-8")


@cache
def _page() -> Template:
    environment = Environment(
        loader=FunctionLoader(_template_text),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    return environment.get_template("page.html.j2")


@cache
def _style() -> str:
    return _template_text("page.css")


def content_security_policy() -> str:
    """Return the policy under which the page works: its own style, its own form, no more."""
    return (
        f"default-src 'none'; style-src {style_source(_style())}; img-src data:; "
        "form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    )


def render_html(
    content: NoteContent,
    *,
    language: str,
    page_url: str,
    units: str = "metric",
    pdf_url: str | None = None,
    acknowledge_url: str | None = None,
    acknowledgement: Acknowledgement | None = None,
    language_urls: Mapping[str, str] | None = None,
) -> str:
    """Return the note as a page.

    Parameters
    ----------
    content
        The composed note.
    language
        ISO 639-1 code, one of `LANGUAGES`.
    page_url
        Address of this page, for the square code.
    units
        One of `UNITS`.
    pdf_url
        Address of the printed note; None leaves the link out.
    acknowledge_url
        Where the form posts its answer; None leaves the form out.
    acknowledgement
        The answer already given; it stands in place of the form.
    language_urls
        The same page in other languages, by language code.

    Raises
    ------
    LanguageUnknown, DisplayUnitsUnknown
        If asked for what there is not.
    """
    words = language_of(language)
    shown_units = display_units(units)
    note = put_into_words(content, language=words, units=shown_units)
    drawing = layers_svg(
        content.drawing,
        words=note.drawing,
        width_mm=_DRAWING_WIDTH_MM,
        font="system-ui, sans-serif",
        in_page=True,
    )
    return _page().render(
        note=note,
        style=Markup(_style()),  # noqa: S704 -- made here, labels escaped
        drawing_svg=Markup(drawing),  # noqa: S704 -- made here, labels escaped
        code_svg=Markup(code_svg(page_url, in_page=True)),  # noqa: S704 -- made here, labels escaped
        dial=_dial(note.sender_phone),
        whole=partial(_whole, [note.sender_phone, *(origin.lot for origin in note.origins)]),
        reasons=refusal_reasons(words),
        pdf_url=pdf_url,
        acknowledge_url=acknowledge_url,
        answered=_answered(acknowledgement, words=words, units=shown_units),
        language_urls=[
            (code, language_of(code).sentences["language.name"], address)
            for code, address in (language_urls or {}).items()
        ],
    )


def _answered(
    found: Acknowledgement | None, *, words: Language, units: DisplayUnits
) -> tuple[str, ...]:
    """Return the answer already given, the sentence on it first; nothing if there is none."""
    if found is None:
        return ()
    at = show(found.at, language=words, units=units)
    answer = words.sentences[f"acknowledged.{found.answer}"]
    name = plain(found.signed_by)
    first = (
        words.sentence("form.answered_by", answer=answer, name=name, at=at)
        if name
        else words.sentence("form.answered", answer=answer, at=at)
    )
    reason = found.reason or ""
    reason = words.sentences.get(f"reason.{reason}", plain(reason))
    others = (plain(found.accepted), reason, plain(found.remark))
    return (first, *(text for text in others if text))


def _whole(parts: list[str], text: str) -> Markup:
    """Return the text with each of these parts on one line, where it is not longer than a line."""
    longest_first = sorted({str(escape(part)) for part in parts if part}, key=len, reverse=True)
    sought = "|".join(re.escape(part) for part in longest_first)
    safe = str(escape(text))
    if sought:
        safe = re.sub(sought, r'<span class="whole">\g<0></span>', safe)
    return Markup(safe)  # noqa: S704 -- the text is escaped, the marks are made here


def _dial(phone: str) -> str:
    """Return what a telephone dials: a leading plus and the digits before any extension."""
    number = re.match(r"[+\d\s().\-/]*", phone)
    digits = re.sub(r"[^\d+]", "", number.group() if number else "")
    return digits or re.sub(r"[^\d+]", "", phone)
