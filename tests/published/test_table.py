"""The table of published checks: large enough, well sourced, and the one in DEVELOPERS.md."""

from service.rules.lookup import Rulebook
from tests.published.table import BEGIN, DEVELOPERS, END, checks, section, table, written

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


def test_the_table_in_the_developers_page_is_the_one_the_checks_give() -> None:
    # Only once the page has the marks; `python -m tests.published.table` puts it there.
    kept = section(DEVELOPERS.read_text(encoding="utf-8")) if DEVELOPERS.exists() else None
    assert kept in (None, table())


def test_writing_the_table_twice_changes_nothing() -> None:
    once = written("# A page\n")
    assert written(once) == once
    assert once.count(BEGIN) == once.count(END) == 1
    assert section(once) == table()
