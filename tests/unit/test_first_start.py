"""The script that a new database runs once: it gets the service's password either way."""

import os
import subprocess
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / "docker" / "database.sh"
# What the script hands to the client: its arguments, then what it asks.
CLIENT = '#!/bin/sh\nprintf "%s\\n" "$@"\ncat\n'


@pytest.fixture
def first_start(tmp_path):
    client = tmp_path / "psql"
    client.write_text(CLIENT)
    client.chmod(0o755)

    def run(**environment):
        return subprocess.run(
            ["/bin/sh", SCRIPT],
            env={"PATH": f"{tmp_path}:{os.environ['PATH']}", "POSTGRES_USER": "postgres"}
            | environment,
            capture_output=True,
            text=True,
            check=False,
        )

    return run


def test_the_role_gets_the_password_as_the_image_hands_it_over_or_from_its_file(
    first_start, tmp_path
):
    (tmp_path / "password").write_text("a b'c\n")
    # The image's own entry script reads the file, then takes its name out of the environment.
    for way in ({"POSTGRES_PASSWORD": "a b'c"}, {"POSTGRES_PASSWORD_FILE": tmp_path / "password"}):
        done = first_start(**way)
        assert done.returncode == 0, done.stderr
        assert "password=a b'c" in done.stdout.splitlines()
        assert "CREATE DATABASE clipping OWNER clipping;" in done.stdout


def test_without_a_password_no_role_is_made(first_start):
    done = first_start()
    assert done.returncode != 0
    assert "CREATE" not in done.stdout
