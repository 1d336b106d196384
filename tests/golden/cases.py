"""The delivery notes that are kept as they were last looked at, and how they are made.

A change of words or looks shows up as a difference in ``tests/golden/delivery_note``.
Look first (print the PDF to a picture, open the page at 390 and at 1280 pixels), then::

    python -m tests.golden.regenerate

and read the difference before it is committed.
"""

import io
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

from pypdf import PdfReader

from service.documents import (
    LANGUAGES,
    Animal,
    BindingLimit,
    NoteFacts,
    Treatment,
    Weighing,
    compose,
    render_html,
    render_json,
    render_pdf,
)
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


CASES: Mapping[str, NoteFacts] = {
    "ordinary": a_note(),
    "food_bed": a_food_bed(),
    "everything": a_hard_note(),
}


def texts() -> Iterator[tuple[str, str]]:
    """Yield the name and the text of every golden file."""
    for name, facts in CASES.items():
        content = compose(facts)
        for language in LANGUAGES:
            stem = f"{name}.{language}"
            yield f"{stem}.json", render_json(content, language=language).decode() + "\n"
            page = render_html(
                content,
                language=language,
                page_url=PAGE,
                pdf_url="/n/0198f2c7.pdf",
                acknowledge_url="/n/0198f2c7/answer",
            )
            yield f"{stem}.html", page + "\n"
            yield f"{stem}.pdf.txt", sheet_text(facts, language=language, paper="a4")
        yield (
            f"{name}.us.pdf.txt",
            sheet_text(facts, language="en", paper="us-letter", units="us"),
        )


def sheet_text(facts: NoteFacts, *, language: str, paper: str, units: str = "metric") -> str:
    """Return the text of a sheet, a line of the sheet a line."""
    made = render_pdf(compose(facts), language=language, paper=paper, units=units, page_url=PAGE)
    (page,) = PdfReader(io.BytesIO(made)).pages
    lines = (" ".join(line.split()) for line in page.extract_text().splitlines())
    return "\n".join(line for line in lines if line) + "\n"
