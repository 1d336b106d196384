"""Nothing acknowledged is lost when processes are killed while a plan is being stored.

    python -m tests.bench.kills                     200 rounds on SQLite and PostgreSQL
    python -m tests.bench.kills --rounds 10 --on sqlite

Each round posts a job to the real server, asks for the day's plan, waits until somebody is at it,
and kills one of the server's processes with SIGKILL, a web worker or one of the planner's, at a
moment drawn over the time that a plan takes to be made and stored. Two of three rounds begin when
all are back, the third in the midst of that. At the end every job that was answered 201 must be
kept once, every plan's number must be there once, the day must come to a plan that covers
everything, and the mass book must agree with its records. It asserts nothing about time.

Whoever is killed over a plan has that day to himself for a minute, and no plan would be made for so
long: here the minute is over at once. Both databases are tried at the same time.
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
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from itertools import repeat
from pathlib import Path

import requests

from service.api.books import clients
from service.storage.engine import make_engine
from service.storage.migrations import upgrade
from service.storage.tables import METADATA
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.servers import postgresql
from tests.servers.ports import free_port
from tests.worlds import IN_ORDER, NAMES, Yard, make_world

COMMAND = [sys.executable, "-c", "import sys; from service.cli import main; sys.exit(main())"]
SEED = 7
A_PLAN_TAKES_S = 0.2
BEGUN_WITHIN_S = 10
PLANNING_TURNS = METADATA.tables["planning_turns"]
COMES_BACK_WITHIN_S = 180


class Server:
    """The real server over a database, with one record of each kind, and a key."""

    def __init__(self, url):
        self.engine = make_engine(url, patient=True)
        world = make_world(unit_of_work_opener(self.engine))
        self.firm_id = world.firm()
        self.address = f"http://127.0.0.1:{free_port()}"
        self.session = requests.Session()
        self.session.headers["Authorization"] = f"Bearer {world.key(self.firm_id)}"
        self.session.headers["Connection"] = "close"  # none is kept to who is killed
        settings = {"CLIPPING_DATABASE_URL": url, "CLIPPING_SIGNING_KEY": 40 * "k"}
        self.process = subprocess.Popen(
            [*COMMAND, "serve", "--port", self.address.rpartition(":")[2]],
            env={**os.environ, **settings, "NUMBA_DISABLE_JIT": "1"},
            stderr=subprocess.DEVNULL,
        )

    def __enter__(self):
        """Return it as it begins."""
        return self

    def furnish(self, lawns):
        """Keep one record of each kind, and so many lawns: one cut twice is planned once."""
        self.until_ready()
        ids = {}
        for path, resource in IN_ORDER:
            named = {field: ids[to] for field, to in NAMES.items() if field in resource.example}
            answer = self.session.post(
                f"{self.address}/{path}", json={**resource.example, **named}, timeout=60
            )
            ids[path] = answer.json()["id"]
        self.yard = Yard(client=None, ids=ids)
        like = {**clients.LAWNS.example, "property_id": ids["properties"]}
        self.lawns = [
            self.session.post(f"{self.address}/lawns", json=like, timeout=60).json()["id"]
            for _ in range(lawns)
        ]
        self.day = f"{self.address}/days/today/routing?depot_id={ids['depots']}"

    def __exit__(self, *_):
        """End it, and let go of the records."""
        self.process.terminate()
        self.process.wait(60)
        self.engine.dispose()

    def until_ready(self):
        """Wait until web and planner answer."""
        until = time.monotonic() + COMES_BACK_WITHIN_S
        while time.monotonic() < until:
            try:
                if requests.get(f"{self.address}/ready", timeout=20).ok:
                    return
            except requests.RequestException:
                pass
            time.sleep(0.05)
        raise TimeoutError("the server did not come back")

    def until_begun(self):
        """Wait until somebody is at the plan that is wanted, if one is."""
        until = time.monotonic() + BEGUN_WITHIN_S
        while (turns := self.turns()) and not any(turns) and time.monotonic() < until:
            time.sleep(0.005)

    def turns(self):
        """Return of each day that is wanted whether somebody is at it."""
        with reading_opener(self.engine)() as unit:
            return [turn.holder is not None for turn in unit.planning_turns.waiting()]

    def let_the_day_go(self):
        """Let the minute be over for which somebody has the day."""
        with self.engine.begin() as connection:
            connection.execute(PLANNING_TURNS.update().values(holder=None, until=None))

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
        cut = {"cut_at": cut_at.isoformat(), "area_mowed": {"value": 5, "unit": "m2"}}
        body = self.yard.job(lawn_id=self.lawns[number], **cut)
        try:
            answer = self.session.post(f"{self.address}/jobs", json=body, timeout=20)
        except requests.RequestException:
            return None
        return answer.json()["id"] if answer.status_code == 201 else None

    def round(self, number, rng):
        """Post a job and kill one while it is planned; return its id, and whether it was."""
        posted = self.post(number)
        with contextlib.suppress(requests.RequestException):
            self.session.get(self.day, timeout=20)
        self.until_begun()
        time.sleep(rng.uniform(0.0, A_PLAN_TAKES_S))
        victims, was_planned = self.others(), any(self.turns())
        if victims:
            with contextlib.suppress(ProcessLookupError):  # it has ended by itself since
                os.kill(rng.choice(victims), signal.SIGKILL)
        self.let_the_day_go()
        return posted, was_planned

    def behind(self):
        """Return how many events the day's plan lacks when it was waited for; None without one."""
        self.until_ready()
        lacks = None
        until = time.monotonic() + COMES_BACK_WITHIN_S
        while lacks != 0 and time.monotonic() < until:
            with contextlib.suppress(requests.RequestException):
                last = self.session.get(self.day, headers={"Prefer": "wait=20"}, timeout=60)
                if last.status_code == 200:
                    told = last.headers
                    lacks = int(told["Day-Revision"]) - int(told["Planned-Revision"])
        return lacks

    def kept(self):
        """Return how often each job is kept, and each number of a plan."""
        with unit_of_work_opener(self.engine)() as unit:
            jobs = Counter(str(job.id) for job in unit.jobs.all(self.firm_id))
            return jobs, Counter(plan.sequence for plan in unit.day_plans.all(self.firm_id))


def rounds(url, number):
    """Run so many rounds, then print what was found; return whether all held."""
    rng = random.Random(SEED)
    told = []
    with Server(url) as server:
        server.furnish(number)
        for one in range(number):
            if one % 3 != 2:
                server.until_ready()
            told.append(server.round(one, rng))
        behind = server.behind()
        jobs, plans = server.kept()
    checked = subprocess.run(
        [*COMMAND, "check", "--database-url", url], capture_output=True, text=True, check=False
    )
    acknowledged = {job for job, _ in told if job}
    lost = len(acknowledged - jobs.keys()) + len(set(range(1, max(plans) + 1)) - plans.keys())
    doubled = sum(times > 1 for times in (*jobs.values(), *plans.values()))
    print(
        f"{url.partition(':')[0]}: {number} rounds, {sum(was for _, was in told)} over a plan, "
        f"{len(acknowledged)} acknowledged, {lost} lost, {doubled} doubled, {len(plans)} plans, "
        f"the last {behind} behind, check {checked.returncode}",
        flush=True,
    )
    hit = any(was for _, was in told)  # else nothing was tried
    return hit and behind == 0 and not (lost or doubled or checked.returncode)


def main():
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--on", nargs="+", default=("sqlite", "postgresql"))
    options = parser.parse_args()
    with contextlib.ExitStack() as stack, ThreadPoolExecutor() as aside:
        urls = []
        if "sqlite" in options.on:
            folder = stack.enter_context(tempfile.TemporaryDirectory())
            urls.append(f"sqlite:///{folder}/kills.db")
        if "postgresql" in options.on:
            server = stack.enter_context(postgresql.running())
            server.create_database("kills")
            urls.append(server.url("kills"))
        for url in urls:
            upgrade(url)  # one after the other: Alembic speaks through its module
        held = list(aside.map(rounds, urls, repeat(options.rounds)))
    sys.exit(not all(held))


if __name__ == "__main__":
    main()
