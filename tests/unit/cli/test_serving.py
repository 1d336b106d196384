"""``serve`` as a supervisor meets it: it answers, it logs no secret, it ends when told."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import requests

from service.cli import main
from service.demo.server import free_port

TOP = Path(__file__).parents[3]
COMMAND = "import sys; from service.cli import main; sys.exit(main())"
SIGNING_KEY = "a signing key of more than 32 characters"
LONGEST_START_S = 120


@pytest.fixture
def secret(sqlite_url, capsys):
    where = ("--database-url", sqlite_url)
    firm = ("--name", "Meadow", "--address", "1 Yard", "--phone", "1", "--currency", "GBP")
    main(["firms", "create", *firm, *where])
    firm_id = capsys.readouterr().out.strip()
    main(["keys", "create", "--firm", firm_id, "--role", "owner", "--name", "office", *where])
    return capsys.readouterr().out.strip()


def answered(address: str, process: subprocess.Popen) -> requests.Response:
    """Wait for the first answer."""
    until = time.monotonic() + LONGEST_START_S
    while time.monotonic() < until and process.poll() is None:
        try:
            return requests.get(f"{address}/ready", timeout=10)
        except requests.ConnectionError:
            time.sleep(0.1)
    raise AssertionError(process.communicate())


def test_it_serves_with_keys_logs_no_secret_and_ends_when_told(sqlite_url, secret, tmp_path):
    port = free_port(None, first=18_080)
    environment = {
        **os.environ,
        "CLIPPING_DATABASE_URL": sqlite_url,
        "CLIPPING_SIGNING_KEY": SIGNING_KEY,
        "HOME": str(tmp_path),
        "NUMBA_DISABLE_JIT": "1",  # nothing is planned here, so nothing need be compiled
    }
    process = subprocess.Popen(
        [sys.executable, "-c", COMMAND, "serve", "--port", str(port), "--workers", "1"],
        cwd=TOP,
        env=environment,
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        assert answered(address, process).status_code == 200
        without = requests.get(f"{address}/crews", timeout=10)
        with_key = requests.get(
            f"{address}/crews", headers={"Authorization": f"Bearer {secret}"}, timeout=10
        )
    finally:
        process.send_signal(signal.SIGTERM)
        out, said = process.communicate(timeout=60)
    assert (without.status_code, with_key.status_code) == (401, 200)
    assert (process.returncode, out) == (0, "")
    assert secret not in said
    assert SIGNING_KEY not in said
    assert sqlite_url not in said
    assert not list(tmp_path.glob(".gunicorn*"))
