"""The pages for people: what they point at is there."""

import re
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
PAGES = [
    path
    for pattern in ("*.md", "openapi/*.md", "service/**/*.md", "tests/**/*.md")
    for path in sorted(TOP.glob(pattern))
]
LONGEST_GUIDE_LINES = 250

LINK = re.compile(r"\]\((?!https?:|#)([^)#\s]+)[^)]*\)")
MODULE = re.compile(r"`((?:[a-z_]+/)*[a-z_]+\.py)\b")
RUN = re.compile(r"python -m (tests(?:\.[a-z_]+)+)")
NAMED = sorted(path.as_posix() for path in TOP.glob("[st]*/**/*.py"))


def names_of(pages: list[Path]) -> list[str]:
    return [page.relative_to(TOP).as_posix() for page in pages]


@pytest.mark.parametrize("page", PAGES, ids=names_of(PAGES))
def test_every_link_of_a_page_leads_to_a_file(page):
    links = LINK.findall(page.read_text(encoding="utf-8"))
    assert [link for link in links if not (page.parent / link).exists()] == []


@pytest.mark.parametrize("page", PAGES, ids=names_of(PAGES))
def test_every_module_that_a_page_names_is_there(page):
    text = page.read_text(encoding="utf-8")
    modules = [*MODULE.findall(text), *(f"{run.replace('.', '/')}.py" for run in RUN.findall(text))]
    assert [name for name in modules if not any(at.endswith(f"/{name}") for at in NAMED)] == []


def test_the_guide_for_contributors_is_read_in_one_sitting():
    lines = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    assert len(lines) <= LONGEST_GUIDE_LINES
