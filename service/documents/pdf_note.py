"""The note on one sheet of paper: tagged PDF, A4 or US Letter."""

import json
from dataclasses import asdict, dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import Final, Literal

import typst

from service.documents.content import NoteContent
from service.documents.drawing import layers_svg, scale_of
from service.documents.formats import DisplayUnits, display_units, show
from service.documents.language import Language
from service.documents.language import language as language_of
from service.documents.plain_text import shortened
from service.documents.quick_code import code_svg
from service.documents.refusals import NoteNotPrintable, PaperUnknown
from service.documents.values import Listed
from service.documents.words import Row, WordedNote, WordedOrigin, put_into_words


@dataclass(frozen=True, slots=True, kw_only=True)
class _Paper:
    """A sheet: its name in typst, and the width between its margins [mm]."""

    name: str
    width_mm: float


# ISO 216 A4 is 210 mm wide, US Letter 8.5 in = 215.9 mm; margins of 12 mm.
_PAPERS: Final = {
    "a4": _Paper(name="a4", width_mm=186.0),
    "us-letter": _Paper(name="us-letter", width_mm=191.9),
}
PAPERS: Final = tuple(_PAPERS)
# Longer texts are cut on paper, with an ellipsis; the page shows them whole.
_LONGEST_NAME: Final = 90
_LONGEST_TEXT: Final = 180
_MOST_ORIGINS: Final = 5
_FONT: Final = "Source Sans 3"


def render_pdf(
    content: NoteContent,
    *,
    language: str,
    page_url: str,
    paper: str = "a4",
    units: str = "metric",
    font_folder: Path | None = None,
) -> bytes:
    """Return the note as a PDF of one page; the same arguments give the same bytes.

    Parameters
    ----------
    content
        The composed note.
    language
        ISO 639-1 code, one of `LANGUAGES`.
    page_url
        Address of the note's page, for the square code.
    paper
        One of `PAPERS`.
    units
        One of `UNITS`.
    font_folder
        Further fonts, for letters the shipped one lacks (Chinese, Arabic, emoji ...).

    Raises
    ------
    LanguageUnknown, PaperUnknown, DisplayUnitsUnknown
        If asked for what there is not.
    NoteNotPrintable
        If the note does not fit on the page in readable letters.

    Notes
    -----
    The sheet is PDF/UA-1. That standard forbids a letter no font has; a name can hold
    any letter, so such a note is set again as plain tagged PDF 1.7, where the missing
    letters are boxes, and says that the page shows them.
    """
    if paper not in _PAPERS:
        raise PaperUnknown(paper=paper, allowed=", ".join(PAPERS))
    words = language_of(language)
    note = put_into_words(content, language=words, units=display_units(units))
    sheet = _PAPERS[paper]
    data = _sheet_data(content, note=note, words=words, sheet=sheet, page_url=page_url)
    try:
        return _compile(content, data=data, standard="ua-1", font_folder=font_folder)
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise _not_printable(content, paper=paper, error=error) from error
    data["letters_missing"] = True
    try:
        return _compile(content, data=data, standard="1.7", font_folder=font_folder)
    except typst.TypstError as error:
        raise _not_printable(content, paper=paper, error=error) from error


def _not_printable(
    content: NoteContent, *, paper: str, error: typst.TypstError
) -> NoteNotPrintable:
    return NoteNotPrintable(number=content.facts.number, paper=paper, reason=str(error))


def _compile(
    content: NoteContent,
    *,
    data: dict[str, object],
    standard: Literal["ua-1", "1.7"],
    font_folder: Path | None,
) -> bytes:
    with as_file(files("service.documents")) as folder:
        fonts = [folder / "fonts", *([font_folder] if font_folder is not None else [])]
        return typst.compile(
            folder / "templates" / "note.typ",
            root=folder / "templates",
            font_paths=fonts,
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs={"note": json.dumps(data)},
            pdf_standards=standard,
            timestamp=int(content.facts.issued_at.timestamp()),
        )


def _sheet_data(
    content: NoteContent,
    *,
    note: WordedNote,
    words: Language,
    sheet: _Paper,
    page_url: str,
) -> dict[str, object]:
    """Return what the template reads: texts cut to the sheet, drawing, code, paper."""
    shown, rest = note.origins[:_MOST_ORIGINS], note.origins[_MOST_ORIGINS:]
    scale = scale_of(content.drawing, width_mm=sheet.width_mm)
    data: dict[str, object] = asdict(note)
    data |= {
        "paper": sheet.name,
        "font": _FONT,
        "letters_missing": False,
        "sender_name": shortened(note.sender_name, letters=_LONGEST_NAME),
        "sender_address": shortened(note.sender_address, letters=_LONGEST_TEXT),
        "parties": [[asdict(_short_row(row)) for row in rows] for rows in note.parties],
        "origins": [asdict(origin) for origin in shown],
        "more_origins": _more(rest, words),
        "drawing_svg": layers_svg(
            content.drawing,
            words=note.drawing,
            width_mm=sheet.width_mm,
            font=_FONT,
            in_page=False,
        ),
        "drawing_scale": (
            note.label["drawn_life_size"]
            if scale == 1
            else words.sentence("label.drawn_to_scale", scale=str(scale))
        ),
        "code_svg": code_svg(page_url, in_page=False),
        "page_url": page_url,
    }
    return data


def _short_row(row: Row) -> Row:
    return Row(label=row.label, text=shortened(row.text, letters=_LONGEST_TEXT))


def _more(rest: tuple[WordedOrigin, ...], words: Language) -> str:
    """Return the sentence on the lots the table has no room for; the loudest came first."""
    if not rest:
        return ""
    lots = show(
        Listed(names=tuple(origin.lot for origin in rest)),
        language=words,
        units=DisplayUnits.METRIC,
    )
    return words.sentence("label.more_lots", count=str(len(rest)), lots=lots)
