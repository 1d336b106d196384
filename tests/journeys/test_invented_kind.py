"""A kind of destination is added as contributors are told to, and a day is lived with it."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.copies import copied
from tests.journeys.invented import digester

CHECKOUT = Path(__file__).parents[2]
MOST_FILES = 8
ONE_AFTER_THE_OTHER = """
import contextlib, sys
from alembic.config import main as alembic
from service.cli import main
from service.storage.migrations import check, upgrade
url, *words = sys.argv[1:]
with contextlib.redirect_stdout(sys.stderr):
    alembic(words, prog="alembic")
    upgrade(url)
    check(url)
main(["openapi"])
"""
ON_LIST = re.compile(r"^\d+\. `([^`]+)`", re.MULTILINE)


def told_section():
    """Return what contributors are told about adding a kind."""
    text = (CHECKOUT / "DEVELOPERS.md").read_text()
    return text.split("### A kind of destination")[1].split("\n### ")[0]


def run(checkout, *words, **environment):
    """Run Python in the checkout, uncompiled: days are small, and compiling takes minutes."""
    return subprocess.run(
        [sys.executable, *words],
        cwd=checkout,
        env=os.environ
        | {"PYTHONPATH": f"{checkout}:{CHECKOUT}", "NUMBA_DISABLE_JIT": "1"}
        | environment,
        capture_output=True,
        text=True,
        check=False,
    )


def edited(folder, *, without=()):
    """Return a copy of the checkout with the edits of the kind, but for some files."""
    # With what Python keeps of each module: it is right for all that is not edited.
    for name in ("service", "migrations", "openapi"):
        copied(CHECKOUT / name, folder / name)
    shutil.copy(CHECKOUT / "pyproject.toml", folder)
    for name, edits in digester.EDITS.items():
        if name in without:
            continue
        path = folder / name
        text = path.read_text() if path.exists() else ""
        for before, after in edits:
            assert before is None or before in text, f"{name} has no {before}"
            text = text + after if before is None else text.replace(before, after, 1)
        path.write_text(text)
    return folder


def written_contract(checkout):
    """Write the contract as contributors do, and return the run."""
    return run(checkout, "-c", "from service.cli import main; main(['openapi'])")


def migrated(checkout, url):
    """Write the migration and run it, then the contract, as contributors do, in one process."""
    (command,) = re.findall(r"`alembic (revision [^`]*)`", (CHECKOUT / "DEVELOPERS.md").read_text())
    words = shlex.split(command)
    words[words.index("-m") + 1] = digester.TITLE
    done = run(checkout, "-c", ONE_AFTER_THE_OTHER, url, *words)
    assert done.returncode == 0, done.stderr
    (checkout / "openapi/openapi.json").write_text(done.stdout)


def touched(checkout):
    """Return the files that differ from this checkout's, or that it has not."""
    return {
        str(path.relative_to(checkout))
        for name in ("service", "migrations", "openapi")
        for path in (checkout / name).rglob("*")
        if path.is_file()
        and "__pycache__" not in path.parts
        and (
            not (original := CHECKOUT / path.relative_to(checkout)).exists()
            or original.read_bytes() != path.read_bytes()
        )
    }


@pytest.fixture(scope="module")
def checkout(tmp_path_factory):
    """Return a checkout that has the kind, with its migration and its contract."""
    folder = edited(tmp_path_factory.mktemp("invented"))
    migrated(folder, f"sqlite:///{folder / 'records.sqlite'}")
    return folder


@pytest.fixture(scope="module")
def told(checkout):
    """Return what a day with the kind told."""
    lived = run(
        checkout, "-m", "tests.journeys.invented.day", f"sqlite:///{checkout / 'records.sqlite'}"
    )
    assert lived.returncode == 0, lived.stderr
    return json.loads(lived.stdout.splitlines()[-1])


def test_a_kind_touches_the_files_that_are_told_and_no_other(checkout):
    listed = ON_LIST.findall(told_section())
    assert len(listed) <= MOST_FILES
    found = {re.sub(r"versions/.*", "versions/", name) for name in touched(checkout)}
    assert found == {name.replace("<kind>", digester.WORD) for name in listed}


def test_a_lot_goes_to_the_new_kind_and_everybody_knows_why(told):
    assert told["planned"] == {
        "goes_to": ["digester"],
        "destinations": ["digester", "hold_bay"],
        "warned_above": ["bed", "compost_site", "digester", "hold_bay", "vehicle"],
        "fee_cents": True,
        "explained": True,
        "why": True,
        "verdicts": {
            "compost_site": "site_closed_day",
            "digester": "digester_capacity",
            "hold_bay": "bay_volume",
        },
        "searched": [],
        "supposed": 0.0,
    }


def test_it_is_planned_again_when_its_record_changes_or_it_turns_a_load_away(told):
    assert told["again"] == {
        "held": ["hold_bay"],
        "held_because": "digester_capacity",
        "back": ["digester"],
        "after_the_no": ["hold_bay"],
        "no": ["turned_away_today", "site"],
        "other": ["digester"],
    }


def test_a_load_is_delivered_there_takes_its_room_and_is_recalled(told):
    done = told["done"]
    assert done["note"].endswith("this one is bound for a digester.")
    assert done["ways"] == ["digester"]
    assert 0 < done["room_kg"] < 9000
    assert done["recalled_from"] == ["digester"]
    assert "loads" in done["kept"]


@pytest.mark.parametrize(
    ("forgotten", "said"),
    [
        (digester.TABLE, "digester has no row in the table of kinds"),
        (digester.ROWS, "there is no table digesters"),
        (digester.RESOURCE, "nothing shows digesters"),
    ],
)
def test_what_is_forgotten_stops_the_service_at_start(forgotten, said, tmp_path):
    done = written_contract(edited(tmp_path, without=[forgotten]))
    assert done.returncode != 0
    assert said in done.stderr
