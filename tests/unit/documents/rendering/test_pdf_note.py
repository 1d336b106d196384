import io
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from service.documents.composition.compose import compose
from service.documents.facts.note import NoteFacts, Receiver, Sender
from service.documents.facts.refusals import PaperUnknown
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.pdf_note import PAPERS, render_pdf
from tests.unit.documents.every_note import notes
from tests.unit.documents.notes import PAGE, a_bed, a_hard_note, a_note, an_origin

# Points of 1/72 inch: ISO 216 A4 is 210 x 297 mm, US Letter 8.5 x 11 in.
SIZES = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "us-letter": (612.0, 792.0)}


def read(facts: NoteFacts, *, language: str = "en", paper: str = "a4") -> PdfReader:
    made = render_pdf(compose(facts), language=language, paper=paper, page_url=PAGE)
    return PdfReader(io.BytesIO(made))


def text_of(pdf: PdfReader) -> str:
    return " ".join(pdf.pages[0].extract_text().split())


def elements(pdf: PdfReader) -> Iterator[DictionaryObject]:
    """Walk the structure tree."""
    waiting = [pdf.trailer["/Root"]["/StructTreeRoot"]]
    while waiting:
        found = waiting.pop().get_object()
        if isinstance(found, DictionaryObject):
            if "/S" in found:
                yield found
            kids = found.get("/K", [])
            waiting += kids if isinstance(kids, list) else [kids]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("facts", [a_note(), a_hard_note()], ids=["ordinary", "hard"])
def test_a_note_is_one_page_of_the_paper_asked_for(language: str, paper: str, facts: NoteFacts):
    pdf = read(facts, language=language, paper=paper)
    assert len(pdf.pages) == 1
    box = pdf.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(SIZES[paper], abs=0.01)


def long_note(text: str) -> NoteFacts:
    """A note whose every text is far longer than a sheet has room for."""
    hard = a_hard_note()
    origins = tuple(
        replace(origin, lot_code=f"LOT-{i}-{text[:20]}", locality=text)
        for i, origin in enumerate(hard.origins * 10)
    )
    return replace(
        hard,
        sender=Sender(name=text, phone=text, address=text),
        receiver=Receiver(name=text, place=text, access_notes=text, may_sign=(text,) * 8),
        origins=origins,
        bed=replace(hard.bed, name=text),
        legal_basis=text,
        sources=tuple(f"source-{i}" for i in range(40)),
    )


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("text", ["Very long name " * 40, "Ż" * 400, "芝生の会社 😀 عربى " * 20])
def test_long_names_and_forty_lots_still_make_one_page(paper: str, text: str):
    assert len(read(long_note(text), language="pl", paper=paper).pages) == 1


# A sheet takes a fifth of a second: few examples, and none is made smaller.
@settings(max_examples=8, deadline=None, phases=(Phase.reuse, Phase.generate))
@given(facts=notes(), language=st.sampled_from(LANGUAGES), paper=st.sampled_from(PAPERS))
def test_any_note_at_all_makes_one_page(facts: NoteFacts, language: str, paper: str):
    assert len(read(facts, language=language, paper=paper).pages) == 1


def test_the_same_note_is_the_same_bytes():
    first, second = (
        render_pdf(compose(a_hard_note()), language="es", page_url=PAGE) for _ in range(2)
    )
    assert first == second


def test_the_sheet_was_made_when_the_note_was_issued():
    metadata = read(a_note()).metadata
    assert metadata is not None
    assert metadata.creation_date == a_note().issued_at


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_sheet_says_its_language_and_its_title(language: str):
    pdf = read(a_note(), language=language)
    assert pdf.trailer["/Root"]["/Lang"].startswith(language)
    assert pdf.metadata is not None
    assert "DN-2026-000123" in str(pdf.metadata.title)


def test_the_sheet_is_tagged_with_headings_lists_a_table_and_described_figures():
    pdf = read(a_hard_note())
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    found = list(elements(pdf))
    kinds = {element["/S"] for element in found}
    assert {"/H1", "/H2", "/L", "/LI", "/Table", "/TH", "/TD", "/Figure"} <= kinds
    figures = [element for element in found if element["/S"] == "/Figure"]
    assert all(str(figure.get("/Alt", "")).strip() for figure in figures)


def test_every_font_travels_with_the_sheet():
    fonts = read(a_hard_note()).pages[0]["/Resources"]["/Font"]
    for font in fonts.values():
        (inner,) = font["/DescendantFonts"]
        descriptor = inner.get_object()["/FontDescriptor"]
        assert {"/FontFile2", "/FontFile3"} & set(descriptor)


def test_letters_no_font_has_are_said_to_be_missing_and_stop_nothing():
    chinese = a_note(bed=a_bed(name="芝生 😀"))
    text = text_of(read(chinese))
    assert "the page shows them" in text
    assert "the page shows them" not in text_of(read(a_note()))


def test_user_text_is_text_and_never_markup():
    bed = a_bed(name='#panic("x") $x^2$ *bold* _it_ `raw` \\ <label> @ref {x} " \'')
    assert '#panic("x") $x^2$ *bold* _it_' in text_of(read(a_note(bed=bed)))


def test_the_sheet_answers_the_questions_at_the_door():
    text = text_of(read(a_note()))
    for told in (
        "Fresh grass clippings",
        "about 180 kg (110 to 270 kg)",
        "Rose border by the gate",
        "At most 12 mm",
        "7 bags of dry leaves",
        "Keep dogs off",
        "+44 1632 960 100",
        "M7-0524-1",
        "Received, not checked",
    ):
        assert told in text.replace("\u00a0", " ")


def test_lots_the_table_has_no_room_for_are_counted_and_none_is_worse():
    origins = tuple(an_origin(f"L-{i:02d}") for i in range(9))
    assert "And 4 more: L-05, L-06, L-07, L-08" in text_of(read(a_note(origins=origins)))


@pytest.mark.parametrize("language", LANGUAGES)
def test_sources_the_sheet_has_no_room_for_are_said_to_be_on_the_page(language: str):
    """They ended with "(+19)", which tells nobody where they are."""
    sources = tuple(f"Author {number} 2015" for number in range(25))
    text = text_of(read(a_note(sources=sources), language=language))
    assert "(+" not in text
    assert "Author 0 2015" in text
    assert "25" in text.partition("Author 5 2015")[2]
    few = text_of(read(a_note(sources=sources[:3]), language=language))
    assert "Author 2 2015." in few


def test_an_unknown_paper_is_refused_with_what_there_is():
    with pytest.raises(PaperUnknown, match="a4, us-letter"):
        read(a_note(), paper="a5")
