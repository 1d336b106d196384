import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from service.cli import main
from service.cli.arguments import ROLES, parser
from service.core.callers.access import Role

HEAVY = ("alembic", "flask", "gunicorn", "marshmallow", "numba", "numpy", "sqlalchemy", "typst")


def refused(*arguments: str) -> int:
    with pytest.raises(SystemExit) as ended:
        parser().parse_args(arguments)
    return ended.value.code


def test_asking_for_help_imports_no_library():
    code = (
        "import sys; from service.cli import main\n"
        "try: main(['--help'])\n"
        f"except SystemExit: print(sorted(set({HEAVY!r}) & set(sys.modules)))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.splitlines()[-1] == "[]"


def test_the_roles_of_the_command_line_are_those_of_the_trade():
    assert set(ROLES) == set(Role)


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("plant",),
        ("serve", "--port", "0"),
        ("serve", "--port", "65536"),
        ("serve", "--workers", "-1"),
        ("demo", "--day", "yesterday"),
        ("keys", "create", "--firm", "7", "--role", "owner", "--name", "x"),
        ("keys", "create", "--role", "owner", "--name", "x"),
        ("firms", "create", "--name", "x"),
    ],
)
def test_a_wrong_call_ends_with_2(arguments: tuple[str, ...]):
    assert refused(*arguments) == 2


def test_the_demo_plays_today_in_a_folder_here_unless_told_otherwise():
    called = parser().parse_args(["demo"])
    assert (called.folder, called.day, called.keep, called.serve) == (
        Path(".demo"),
        None,
        False,
        True,
    )
    called = parser().parse_args(["demo", "--day", "2026-05-20", "--no-serve"])
    assert (called.day, called.serve) == (date(2026, 5, 20), False)


def test_the_service_is_not_served_beyond_this_machine_unless_told_so():
    assert parser().parse_args(["serve"]).host == "127.0.0.1"


def test_the_version_is_that_of_the_distribution(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith("clipping-dispatch ")


def test_the_contract_is_printed_as_json(capsys):
    import json  # noqa: PLC0415 # used here alone

    assert main(["openapi"]) == 0
    assert json.loads(capsys.readouterr().out)["openapi"].startswith("3.1")
