"""``serve`` as a supervisor meets it: it answers, plans behind, logs no secret, ends when told."""

import json
import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
import requests

from service.cli import main
from tests.effort import LOST_AFTER_S
from tests.servers.ports import free_port
from tests.worlds import IN_ORDER, NAMES, Yard

TOP = Path(__file__).parents[3]
COMMAND = "import sys; from service.cli import main; sys.exit(main())"
SIGNING_KEY = "a signing key of more than 32 characters"


@pytest.fixture
def secret(sqlite_url, capsys):
    where = ("--database-url", sqlite_url)
    firm = ("--name", "Meadow", "--address", "1 Yard", "--phone", "1", "--currency", "GBP")
    main(["firms", "create", *firm, *where])
    firm_id = capsys.readouterr().out.strip()
    main(["keys", "create", "--firm", firm_id, "--role", "owner", "--name", "office", *where])
    return capsys.readouterr().out.strip()


def wait_until_ready(address: str, process: subprocess.Popen) -> None:
    """Wait until it takes requests, and its planner's process does."""
    until = time.monotonic() + LOST_AFTER_S
    while time.monotonic() < until and process.poll() is None:
        try:
            if requests.get(f"{address}/ready", timeout=LOST_AFTER_S).status_code == 200:
                return
        except requests.RequestException:
            pass  # nobody there yet, or busy with beginning
        time.sleep(0.1)
    raise AssertionError(process.communicate())


def planned_behind(address: str, headers: dict[str, str]) -> int:
    """Post a job, read its day until it is planned behind, then have it planned whole."""

    def post(path, body):
        answer = requests.post(
            f"{address}/{path}", json=body, headers=headers, timeout=LOST_AFTER_S
        )
        assert answer.status_code == 201, answer.text
        return answer.json()

    ids: dict[str, str] = {}
    for path, resource in IN_ORDER:
        named = {field: ids[to] for field, to in NAMES.items() if field in resource.example}
        ids[path] = post(path, {**resource.example, **named})["id"]
    yard = Yard(client=None, ids=ids)
    cut_at = datetime.now(UTC)  # of today, at whatever hour this is run
    post("jobs", yard.job(cut_at=cut_at.isoformat(), area_mowed={"value": 60, "unit": "m2"}))
    day = f"{address}/days/today/routing?depot_id={ids['depots']}"
    until = time.monotonic() + LOST_AFTER_S
    while True:
        read = requests.get(day, headers={**headers, "Prefer": "wait=20"}, timeout=LOST_AFTER_S)
        if read.status_code != 202 or time.monotonic() > until:
            break
    assert read.status_code == 200, read.text
    whole = post("day-plans", {"depot_id": ids["depots"], "day": read.json()["day"]})
    sequence: int = whole["sequence"]
    return sequence


def test_it_serves_with_keys_logs_no_secret_and_ends_when_told(sqlite_url, secret, tmp_path):
    port = free_port()
    environment = {
        **os.environ,
        "CLIPPING_DATABASE_URL": sqlite_url,
        "CLIPPING_SIGNING_KEY": SIGNING_KEY,
        "HOME": str(tmp_path),
        "NUMBA_DISABLE_JIT": "1",  # a day of one job is planned, so nothing need be compiled
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
        wait_until_ready(address, process)
        without = requests.get(f"{address}/crews", timeout=LOST_AFTER_S)
        headers = {"Authorization": f"Bearer {secret}"}
        with_key = requests.get(f"{address}/crews", headers=headers, timeout=LOST_AFTER_S)
        planned = planned_behind(address, headers)
    finally:
        process.send_signal(signal.SIGTERM)
        out, said = process.communicate(timeout=LOST_AFTER_S)
    assert (without.status_code, with_key.status_code) == (401, 200)
    assert planned == 2
    assert (process.returncode, out) == (0, "")
    started = next(json.loads(line) for line in said.splitlines() if '"serving"' in line)
    # Nobody said where links are to lead, and it is not where this one listens.
    assert (started["listens_at"], started["level"]) == (address, "warning")
    assert started["links_carry"] == "http://127.0.0.1:8080"
    assert secret not in said
    assert SIGNING_KEY not in said
    assert sqlite_url not in said
    assert not list(tmp_path.glob(".gunicorn*"))


WEB = """
import sys
from pathlib import Path
from service.planning.arrays.compiled import leave_planning_to_another
leave_planning_to_another()
from service.bootstrap import build_app_from_env
import service.cli.serving
build_app_from_env(
    {"CLIPPING_DATABASE_URL": "sqlite:///none", "CLIPPING_SIGNING_KEY": 40 * "x"},
    planner=Path("none"),
)
sys.exit(" ".join({"numba", "llvmlite", "highspy"} & sys.modules.keys()) or None)
"""


def test_a_web_worker_holds_neither_the_compiler_nor_the_solver():
    environment = {name: value for name, value in os.environ.items() if "NUMBA" not in name}
    web = subprocess.run(
        [sys.executable, "-c", WEB], cwd=TOP, env=environment, capture_output=True, check=False
    )
    assert (web.returncode, web.stderr) == (0, b"")


WORKER_THAT_ENDS = """
import os
from service.cli.serving import own_folder
try:
    with own_folder() as folder:
        worker = os.fork()
        if not worker:
            raise SystemExit
        os.waitpid(worker, 0)
        print(folder, folder.is_dir())
except SystemExit:
    pass
"""


def test_a_worker_that_ends_leaves_the_folder_that_the_others_share():
    words = [sys.executable, "-c", WORKER_THAT_ENDS]
    told = subprocess.run(words, capture_output=True, text=True, check=True).stdout.split()
    folder, was_there = told[-2:]
    assert was_there == "True"
    assert not Path(folder).exists()
