"""The note as one page of HTML: no script, nothing from outside, a form to answer with."""

import re
from collections.abc import Mapping
from functools import cache, partial
from importlib.resources import files
from typing import Final

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from service.documents.composition.content import NoteContent
from service.documents.composition.drawing import layers_svg
from service.documents.rendering.answer_words import (
    Acknowledgement,
    Unkept,
    answer_in_words,
    form_in_words,
    what_follows,
)
from service.documents.rendering.formats import display_units
from service.documents.rendering.further_words import StandingWord, further_in_words
from service.documents.rendering.language import language as language_of
from service.documents.rendering.page_policy import style_source
from service.documents.rendering.quick_code import code_svg
from service.documents.rendering.words import put_into_words, refusal_reasons

# The drawing is this wide in its own millimetres: on a phone its letters stay as large as
# the text around it.
_DRAWING_WIDTH_MM: Final = 92.0


def _template_text(name: str) -> str:
    return files("service.documents").joinpath("templates", name).read_text(encoding="utf-8")


@cache
def template(name: str) -> Template:
    """Return a template that escapes what it is given."""
    environment = Environment(
        loader=FunctionLoader(_template_text),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    return environment.get_template(name)


@cache
def style() -> str:
    """Return the style of every page behind a link."""
    return _template_text("page.css")


def content_security_policy() -> str:
    """Return the policy under which the page works: its own style, its own form, no more."""
    return (
        f"default-src 'none'; style-src {style_source(style())}; img-src data:; "
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
    unkept: Unkept | None = None,
    further: StandingWord | None = None,
    further_url: str | None = None,
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
    unkept
        A form that was sent and not kept: it is shown again with what is wrong in it.
    further
        The client's word on further deliveries; None leaves it out.
    further_url
        Where the form posts it.
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
    return template("page.html.j2").render(
        note=note,
        style=Markup(style()),  # noqa: S704 -- made here, labels escaped
        drawing_svg=Markup(drawing),  # noqa: S704 -- made here, labels escaped
        code_svg=Markup(code_svg(page_url, in_page=True)),  # noqa: S704 -- made here, labels escaped
        dial=dialled(note.sender_phone),
        whole=partial(_whole, [note.sender_phone, *(origin.lot for origin in note.origins)]),
        reasons=refusal_reasons(words),
        pdf_url=pdf_url,
        acknowledge_url=acknowledge_url,
        sent=form_in_words(content, unkept or Unkept(), words=words, units=shown_units),
        answered=answer_in_words(acknowledgement, words=words, units=shown_units),
        follows=what_follows(content, acknowledgement, words=words),
        further=further and further_in_words(further, content, words=words, units=shown_units),
        further_url=further_url,
        language_urls=[
            (code, language_of(code).sentences["language.name"], address)
            for code, address in (language_urls or {}).items()
        ],
    )


def _whole(parts: list[str], text: str) -> Markup:
    """Return the text with each of these parts on one line, where it is not longer than a line."""
    longest_first = sorted({str(escape(part)) for part in parts if part}, key=len, reverse=True)
    sought = "|".join(re.escape(part) for part in longest_first)
    safe = str(escape(text))
    if sought:
        safe = re.sub(sought, r'<span class="whole">\g<0></span>', safe)
    return Markup(safe)  # noqa: S704 -- the text is escaped, the marks are made here


def dialled(phone: str) -> str:
    """Return what a telephone dials: a leading plus and the digits before any extension."""
    number = re.match(r"[+\d\s().\-/]*", phone)
    digits = re.sub(r"[^\d+]", "", number.group() if number else "")
    return digits or re.sub(r"[^\d+]", "", phone)
