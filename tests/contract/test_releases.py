"""A release has one number, and says to callers what they do about it."""

import itertools
import re
import tomllib
from pathlib import Path

import pytest
from packaging.version import Version

from service.api.contract.document import API_VERSION

TOP = Path(__file__).parents[2]
CHANGES = (TOP / "openapi" / "CHANGES.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TO_DO = {"changed", "removed", "deprecated"}
KINDS = {"added", *TO_DO}


def releases():
    """Return each release's rows, the newest release first: kind, what, what to do."""
    _, *parts = re.split(r"^## (\S+)$", CHANGES, flags=re.MULTILINE)
    return {
        Version(name): [
            tuple(cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1])
            for line in text.splitlines()
            if line.startswith("| ") and not line.startswith("| Kind |")
        ]
        for name, text in zip(parts[::2], parts[1::2], strict=True)
    }


RELEASES = releases()
NAMES = list(RELEASES)


def test_the_newest_release_is_the_version_of_the_project_and_of_the_contract():
    assert [str(NAMES[0])] * 2 == [PROJECT["version"], API_VERSION]


def test_the_newest_release_stands_first():
    assert sorted(NAMES, reverse=True) == NAMES


@pytest.mark.parametrize("release", NAMES, ids=str)
def test_every_change_is_of_a_kind_and_says_what_callers_do(release):
    assert RELEASES[release]
    for kind, what, to_do in RELEASES[release]:
        assert kind in KINDS, what
        assert what.endswith("."), what
        assert to_do.endswith("."), what


@pytest.mark.parametrize(("newer", "older"), [*itertools.pairwise(NAMES)], ids=str)
def test_a_release_that_changes_something_raises_more_than_the_last_number(newer, older):
    changes = {kind for kind, *_ in RELEASES[newer]} & TO_DO
    assert not changes or newer.release[:2] > older.release[:2]
