"""The note on one sheet of paper: tagged PDF, A4 or US Letter."""

import json
from dataclasses import asdict, dataclass
from importlib.resources import as_file, files
from typing import Final, Literal

import typst

from service.documents.composition.content import NoteContent
from service.documents.composition.drawing import layers_svg, scale_of
from service.documents.facts.refusals import NoteNotPrintable, PaperUnknown
from service.documents.rendering.drawing_words import Room, WordedNote, WordedOrigin
from service.documents.rendering.formats import display_units
from service.documents.rendering.language import Language
from service.documents.rendering.language import language as language_of
from service.documents.rendering.plain_text import fewer, plain
from service.documents.rendering.quick_code import code_svg
from service.documents.rendering.words import put_into_words


@dataclass(frozen=True, slots=True, kw_only=True)
class _Paper:
    """A sheet: its name in typst, and the width between its margins [mm]."""

    name: str
    width_mm: float


# ISO 216 A4 is 210 mm wide, US Letter 8.5 in = 215.9 mm; margins of 10 mm.
_PAPERS: Final = {
    "a4": _Paper(name="a4", width_mm=190.0),
    "us-letter": _Paper(name="us-letter", width_mm=195.9),
}
PAPERS: Final = tuple(_PAPERS)

# What has no natural end is cut on paper, where the page shows it whole. Tried in turn
# until the letters stay readable: a note is cut before it is refused.
_ROOMS: Final = (
    Room(longest_text=120, longest_list=6, most_origins=5),
    Room(longest_text=60, longest_list=4, most_origins=4),
    Room(longest_text=30, longest_list=2, most_origins=3),
    Room(longest_text=20, longest_list=1, most_origins=2),
)
_TOO_LONG: Final = "too long for one page"
_LETTER_MISSING: Final = "could not be displayed"
_FONT: Final = "Source Sans 3"


def render_pdf(
    content: NoteContent,
    *,
    language: str,
    page_url: str,
    paper: str = "a4",
    units: str = "metric",
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
    shown_units = display_units(units)
    reason = ""
    for room in _ROOMS:
        note = put_into_words(content, language=words, units=shown_units, room=room)
        data = _sheet_data(
            content,
            note=note,
            words=words,
            sheet=_PAPERS[paper],
            room=room,
            page_url=page_url,
        )
        try:
            return _set(content, data=data)
        except typst.TypstError as error:
            reason = str(error)
            if _TOO_LONG not in reason:
                break
    raise NoteNotPrintable(number=plain(content.facts.number), paper=paper, reason=reason)


def _set(content: NoteContent, *, data: dict[str, object]) -> bytes:
    """Return the sheet under PDF/UA-1, or as tagged PDF 1.7 if a letter is in no font."""
    try:
        return _compile(content, data=data, standard="ua-1")
    except typst.TypstError as error:
        if _LETTER_MISSING not in str(error):
            raise
    lacking = data | {"letters_missing": True}
    return _compile(content, data=lacking, standard="1.7")


def _compile(
    content: NoteContent,
    *,
    data: dict[str, object],
    standard: Literal["ua-1", "1.7"],
) -> bytes:
    with as_file(files("service.documents")) as folder:
        return typst.compile(
            folder / "templates" / "note.typ",
            root=folder / "templates",
            font_paths=[folder / "fonts"],
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
    room: Room,
    page_url: str,
) -> dict[str, object]:
    """Return what the template reads: texts cut to the sheet, drawing, code, paper."""
    shown, rest = note.origins[: room.most_origins], note.origins[room.most_origins :]
    scale = scale_of(content.drawing, width_mm=sheet.width_mm)
    data: dict[str, object] = asdict(note)
    data |= {
        "paper": sheet.name,
        "font": _FONT,
        "letters_missing": False,
        "origins": [asdict(origin) for origin in shown],
        "more_origins": _more(rest, words=words, room=room),
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


def _more(rest: tuple[WordedOrigin, ...], *, words: Language, room: Room) -> str:
    """Return the sentence on the lots the table has no room for; the loudest came first."""
    if not rest:
        return ""
    lots = fewer(tuple(origin.lot for origin in rest), most=room.longest_list)
    return words.sentence(
        "label.more_lots",
        count=str(len(rest)),
        lots=words.sentences["format.list_mark"].join(lots),
    )
