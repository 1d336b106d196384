"""The delivery notes that are kept as they were last looked at, and how they are made.

A change of words or looks shows up as a difference in ``tests/golden/delivery_note``.
Look first (print the PDF to a picture, open the page at 390 and at 1280 pixels), then::

    python -m tests.golden.regenerate

and read the difference before it is committed.
"""

import io
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

from pypdf import PdfReader

from service.documents.composition.compose import compose
from service.documents.facts.bed import Animal, BindingLimit, LimitOf, TooMuch
from service.documents.facts.note import NoteFacts, Treatment, Weighing
from service.documents.rendering.html_note import render_html
from service.documents.rendering.json_note import render_json
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.pdf_note import render_pdf
from tests.unit.documents.notes import (
    PAGE,
    a_bed,
    a_guidance,
    a_hard_note,
    a_note,
    an_origin,
)

FOLDER = Path(__file__).parent / "delivery_note"


def a_food_bed() -> NoteFacts:
    """A weighed load on a kitchen garden: one clean lot, one cleared, hens about."""
    ordinary = a_note()
    return replace(
        ordinary,
        number="DN-2026-000125",
        amount=replace(ordinary.amount, weighed=Weighing(net_kg=174.5, ticket="W-5521")),
        origins=(
            an_origin("M7-0524-1"),
            an_origin("M7-0524-4", Treatment.RECORDED_AND_CLEAR),
        ),
        bed=a_bed(
            name="Kitchen garden",
            area_m2=22,
            grows_food=True,
            animals=frozenset({Animal.POULTRY}),
            near_drain_or_paving=False,
        ),
        guidance=a_guidance(
            depth_mm=9.5,
            binding_limit=BindingLimit.LEDGER,
            area_covered_m2=44,
            layers=2,
            no_more_before=date(2026, 6, 21),
            browns=None,
        ),
    )


def a_load_with_no_room() -> NoteFacts:
    """A load on a bed that by law may have none of it any more."""
    none = TooMuch(limit_of=LimitOf.LAW, allowed_kg=0.0)
    guidance = a_guidance(area_covered_m2=0.0, no_more_before=None, browns=None, too_much=none)
    return replace(a_note(), number="DN-2026-000126", guidance=guidance)


CASES: Mapping[str, NoteFacts] = {
    "ordinary": a_note(),
    "food_bed": a_food_bed(),
    "everything": a_hard_note(),
    "too_much": a_load_with_no_room(),
}


def makers() -> dict[str, Callable[[], str]]:
    """Return what makes the text of every golden file, by the file's name.

    Nothing is made before it is asked for: whoever only collects the tests sets no sheet.
    """
    made: dict[str, Callable[[], str]] = {}
    for name, facts in CASES.items():
        for language in LANGUAGES:
            stem = f"{name}.{language}"
            made[f"{stem}.json"] = partial(record_text, facts, language=language)
            made[f"{stem}.html"] = partial(page_text, facts, language=language)
            made[f"{stem}.pdf.txt"] = partial(sheet_text, facts, language=language, paper="a4")
        made[f"{name}.us.pdf.txt"] = partial(
            sheet_text, facts, language="en", paper="us-letter", units="us"
        )
    return made


def record_text(facts: NoteFacts, *, language: str) -> str:
    """Return the note as JSON."""
    return render_json(compose(facts), language=language).decode() + "\n"


def page_text(facts: NoteFacts, *, language: str) -> str:
    """Return the note as a page."""
    page = render_html(
        compose(facts),
        language=language,
        page_url=PAGE,
        pdf_url="/n/0198f2c7.pdf",
        acknowledge_url="/n/0198f2c7/answer",
    )
    return page + "\n"


def sheet_text(facts: NoteFacts, *, language: str, paper: str, units: str = "metric") -> str:
    """Return the text of a sheet, a line of the sheet a line."""
    made = render_pdf(compose(facts), language=language, paper=paper, units=units, page_url=PAGE)
    (page,) = PdfReader(io.BytesIO(made)).pages
    lines = (" ".join(line.split()) for line in page.extract_text().splitlines())
    return "\n".join(line for line in lines if line) + "\n"
