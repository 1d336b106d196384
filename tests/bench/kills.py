"""Nothing acknowledged is lost when processes are killed while a plan is being stored.

    python -m tests.bench.kills                     200 rounds on SQLite and PostgreSQL
    python -m tests.bench.kills --rounds 10 --on sqlite

Each round posts a job to the real server, asks for the day's plan, and kills one of its processes
with SIGKILL, a web worker or one of the planner's, at a moment drawn over the time that a plan
takes to be made and stored. At the end every job that was answered 201 must be kept once, every
plan's number must be there once, the day must come to a plan that covers everything, and the mass
book must agree with its records. It asserts nothing about time.
"""

import argparse
import contextlib
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path

import requests

from service.storage.engine import make_engine
from service.storage.migrations import upgrade
from service.storage.unit_of_work import unit_of_work_opener
from tests.servers import postgresql
from tests.servers.ports import free_port
from tests.worlds import IN_ORDER, NAMES, Yard, make_world

COMMAND = [sys.executable, "-c", "import sys; from service.cli import main; sys.exit(main())"]
SEED = 7
A_PLAN_TAKES_S = 0.6
COMES_BACK_WITHIN_S = 180


class Server:
    """The real server over a database, with one record of each kind, and a key."""

    def __init__(self, url):
        upgrade(url)
        self.url, self.engine = url, make_engine(url)
        world = make_world(unit_of_work_opener(self.engine))
        self.firm_id = world.firm()
        self.address = f"http://127.0.0.1:{free_port()}"
        self.session = requests.Session()
        self.session.headers["Authorization"] = f"Bearer {world.key(self.firm_id)}"
        settings = {"CLIPPING_DATABASE_URL": url, "CLIPPING_SIGNING_KEY": 40 * "k"}
        self.process = subprocess.Popen(
            [*COMMAND, "serve", "--port", self.address.rpartition(":")[2]],
            env={**os.environ, **settings, "NUMBA_DISABLE_JIT": "1"},
            stderr=subprocess.DEVNULL,
        )
        self.until_ready()
        ids = {}
        for path, resource in IN_ORDER:
            named = {field: ids[to] for field, to in NAMES.items() if field in resource.example}
            answer = self.session.post(
                f"{self.address}/{path}", json={**resource.example, **named}, timeout=60
            )
            ids[path] = answer.json()["id"]
        self.yard = Yard(client=None, ids=ids)
        self.day = f"{self.address}/days/today/routing?depot_id={ids['depots']}"

    def until_ready(self):
        """Wait until web and planner answer."""
        until = time.monotonic() + COMES_BACK_WITHIN_S
        while time.monotonic() < until:
            try:
                if requests.get(f"{self.address}/ready", timeout=20).ok:
                    return
            except requests.RequestException:
                pass
            time.sleep(0.1)
        sys.exit("the server did not come back")

    def others(self):
        """Return the processes below the one that serves: web workers, and the planner's."""
        parents = {}
        for stat in Path("/proc").glob("[0-9]*/stat"):
            try:
                fields = stat.read_text(encoding="ascii").rpartition(")")[2].split()
            except OSError:
                continue
            parents[int(stat.parent.name)] = int(fields[1])
        found, fresh = [], [self.process.pid]
        while fresh:
            fresh = [pid for pid, parent in parents.items() if parent in fresh]
            found += fresh
        return found

    def post(self, number):
        """Post a job, and return its id if it was acknowledged."""
        cut_at = datetime.now(UTC) - timedelta(seconds=number + 1)
        body = self.yard.job(cut_at=cut_at.isoformat(), area_mowed={"value": 5, "unit": "m2"})
        try:
            answer = self.session.post(f"{self.address}/jobs", json=body, timeout=20)
        except requests.RequestException:
            return None
        return answer.json()["id"] if answer.status_code == 201 else None

    def end(self):
        """End it, and let go of the records."""
        self.process.terminate()
        self.process.wait(60)
        self.engine.dispose()


def rounds(url, number, rng):
    """Run so many rounds, then print what was found; return whether all held."""
    server = Server(url)
    acknowledged = []
    for one in range(number):
        acknowledged.append(server.post(one))
        with contextlib.suppress(requests.RequestException):
            server.session.get(server.day, timeout=20)
        time.sleep(rng.uniform(0.0, A_PLAN_TAKES_S))
        victims = server.others()
        if victims:
            os.kill(rng.choice(victims), signal.SIGKILL)
        if one % 10 == 9:
            server.until_ready()
    server.until_ready()
    last = server.session.get(server.day, headers={"Prefer": "wait=20"}, timeout=60)
    behind = int(last.headers["Day-Revision"]) - int(last.headers["Planned-Revision"])
    kept = {job for job in acknowledged if job}
    with unit_of_work_opener(server.engine)() as unit:
        jobs = Counter(str(job.id) for job in unit.jobs.all(server.firm_id))
        numbers = Counter(plan.sequence for plan in unit.day_plans.all(server.firm_id))
    server.end()
    checked = subprocess.run(
        [*COMMAND, "check", "--database-url", url], capture_output=True, text=True, check=False
    )
    lost, doubled = len(kept - jobs.keys()), sum(n > 1 for n in (*jobs.values(), *numbers.values()))
    print(
        f"{number} rounds: {len(kept)} acknowledged, {lost} lost, {doubled} doubled, "
        f"{len(numbers)} plans, the last {behind} behind, check {checked.returncode}",
        flush=True,
    )
    return not (lost or doubled or behind or checked.returncode)


def main():
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--on", nargs="+", default=("sqlite", "postgresql"))
    options = parser.parse_args()
    rng = random.Random(SEED)
    held = []
    if "sqlite" in options.on:
        with tempfile.TemporaryDirectory() as folder:
            held.append(rounds(f"sqlite:///{folder}/kills.db", options.rounds, rng))
    if "postgresql" in options.on:
        with postgresql.running() as server:
            server.create_database("kills")
            held.append(rounds(server.url("kills"), options.rounds, rng))
    sys.exit(not all(held))


if __name__ == "__main__":
    main()
