import pytest

from service.documents.composition.compose import compose
from service.documents.rendering.html_note import render_html
from service.documents.rendering.json_note import render_json
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.pdf_note import PAPERS, render_pdf
from tests.golden.cases import CASES, FOLDER, makers, sheet_text
from tests.unit.documents.notes import PAGE

MAKERS = makers()
REGENERATE = "looked at it? then: python -m tests.golden.regenerate"


@pytest.mark.parametrize("name", sorted(MAKERS))
def test_a_note_reads_as_it_did_when_it_was_last_looked_at(name: str):
    assert MAKERS[name]() == (FOLDER / name).read_text(encoding="utf-8"), REGENERATE


def test_no_golden_file_is_left_that_nothing_makes():
    assert {path.name for path in FOLDER.iterdir()} == set(MAKERS), REGENERATE


@pytest.mark.parametrize("language", LANGUAGES)
def test_page_sheet_and_json_say_the_same_sentences(language: str):
    facts = CASES["food_bed"]
    content = compose(facts)
    sheet = " ".join(sheet_text(facts, language=language, paper="a4").split())
    page = render_html(content, language=language, page_url=PAGE)
    record = render_json(content, language=language).decode()
    for told in ("174", "M7-0524-4", "+44 1632 960 100", "Kitchen garden", "W-5521"):
        assert told in sheet
        assert told in page.replace("\u00a0", " ")
        assert told in record


@pytest.mark.parametrize("paper", PAPERS)
def test_a_sheet_holds_no_picture_of_text_and_stays_small(paper: str):
    # It is opened by phone at a kerb: far below the size of one photograph.
    made = render_pdf(compose(CASES["everything"]), language="pl", paper=paper, page_url=PAGE)
    assert len(made) < 200_000


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_first_lines_say_to_whom_and_which_place(language: str):
    page = render_html(compose(CASES["ordinary"]), language=language, page_url=PAGE)
    first = page[page.index("<main>") : page.index('id="glance"')]
    assert "R. Alvarez" in first
    assert "12 Orchard Street" in first
