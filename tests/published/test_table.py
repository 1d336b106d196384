"""The table of published checks: large enough, well sourced, and the one on the page."""

from service.rules.lookup import Rulebook
from tests.published.table import PAGE, checks, page

CHECKS_LEAST = 50
SOURCES_LEAST = 18


def test_there_are_enough_checks_against_enough_sources() -> None:
    found = checks()
    assert len(found) >= CHECKS_LEAST
    assert len({check.source for check in found}) >= SOURCES_LEAST


def test_every_check_names_a_source_of_the_rulebook() -> None:
    known = set(Rulebook.load().sources)
    assert {check.source for check in checks()} <= known


def test_no_two_checks_are_the_same() -> None:
    names = [(check.source, check.check) for check in checks()]
    assert len(names) == len(set(names))


def test_the_page_is_the_one_that_the_checks_give() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "python -m tests.published.table writes it"
