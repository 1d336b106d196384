"""What open pages cost whoever posts a job.

``python -m tests.bench.watching`` posts jobs to a day of 200 jobs and 30 vehicles, in turn alone
and beside fifty day pages and twenty crews' pages, each asking every five seconds as its script
does: first without what a crew reads anew when the day moved, then with that, which at this pace is
its whole round each time. It prints the cost of a post beside them over that of one alone, in
processor time and on the clock, and the processor time of the pages by what they asked; then that
of a routing, a vehicle's day and a stream that did not change. It asserts nothing about time.
"""

import argparse
import logging
import random
import statistics
import tempfile
import threading
import time
from collections import defaultdict
from datetime import timedelta
from pathlib import Path

import structlog

from service.core.callers.access import Role
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.bench.service import laid_out
from tests.firms import DAY, SIX
from tests.screens import OURS
from tests.worlds import make_world

PAGES, CREWS = 50, 20
EVERY_S = 5.0  # EVERY_MS of day.js, AGAIN_MS of round.js
ASKED = 20
THREADS = 8  # what `serve` gives a process


class Watchers:
    """Open pages, that ask in turn; what each kind of question cost is summed up."""

    def __init__(self, days, rounds):
        """Take the devices of the office and of the crews."""
        self._asks = [lambda page=page: self._ask_day(page) for page in days]
        self._asks += [lambda page=page: self._ask_round(page) for page in rounds]
        random.Random(1).shuffle(self._asks)
        self.spent_s, self.asked = defaultdict(float), defaultdict(int)
        self.reads_anew = True
        self._stop = threading.Event()
        self._lock = threading.Lock()

    def _get(self, name, page, path, **more):
        began = time.thread_time()
        answer = page["client"].get(path, **more)
        spent = time.thread_time() - began
        assert answer.status_code in {200, 304}, answer.text
        with self._lock:
            self.spent_s[name] += spent
            self.asked[name] += 1
        return answer

    def _ask_day(self, page):
        answer = self._get(
            "day mark", page, page["path"], headers={"If-None-Match": page.get("tag", '"none"')}
        )
        page["tag"] = answer.headers["ETag"]

    def _ask_round(self, page):
        mark = self._get("round mark", page, "/screens/round/mark").json["mark"]
        if self.reads_anew and mark != page.get("mark"):
            self._get("round", page, "/screens/round/", headers={"Accept": "text/html"})
        page["mark"] = mark

    def ask_all(self):
        """Ask everything once, and forget what that cost."""
        for ask in self._asks:
            ask()
        self.spent_s.clear()
        self.asked.clear()

    def _loop(self, number):
        mine = self._asks[number::THREADS]
        began, turn = time.monotonic(), 0
        while not self._stop.is_set():
            for place, ask in enumerate(mine):
                due = began + EVERY_S * (turn + (place + number / THREADS) / len(mine))
                if self._stop.wait(max(0.0, due - time.monotonic())):
                    return
                ask()
            turn += 1

    def __enter__(self):
        """Let them begin."""
        self._stop.clear()
        self._threads = [threading.Thread(target=self._loop, args=(n,)) for n in range(THREADS)]
        for thread in self._threads:
            thread.start()

    def __exit__(self, *_):
        """Let them end."""
        self._stop.set()
        for thread in self._threads:
            thread.join()


def joined(world, office, body):
    """Return a device that has joined as somebody."""
    link = office.post("/sessions", json={"name": "Dana", **body}).json["link"]
    device = world.app.test_client()
    answer = device.post(link.removeprefix("http://127.0.0.1:8080"), headers=OURS)
    assert answer.status_code == 303, answer.text
    return {"client": device}


def opened(world, firm):
    """Return fifty pages of the day and twenty of crews."""
    office = world.client(firm.caller.firm_id, Role.OWNER)
    path = f"/screens/day/mark?depot={firm.depot_id}&day={DAY.isoformat()}"
    dispatcher = joined(world, office, {"seat": "dispatcher"})
    days = [{**dispatcher, "path": path} for _ in range(PAGES)]
    crews = office.get("/crews?limit=50").json["items"][:CREWS]
    rounds = [joined(world, office, {"seat": "crew", "crew_id": one["id"]}) for one in crews]
    return Watchers(days, rounds), office


def bodies(office):
    """Yield jobs to post, each of another planned minute of the evening."""
    crew = office.get("/crews?limit=1").json["items"][0]
    lawns = office.get("/lawns?limit=200").json["items"]
    for number in range(100_000):
        yield {
            "lawn_id": lawns[number % len(lawns)]["id"],
            "crew_id": crew["id"],
            "vehicle_id": crew["vehicle_id"],
            "state": "planned",
            "planned_at": (SIX + timedelta(hours=10, seconds=number)).isoformat(),
            "area_mowed": {"value": 450, "unit": "m2"},
            "height_removed": {"value": 25, "unit": "mm"},
            "treatment_history": "none_recorded",
        }


def posted(client, jobs, *, seconds, every_s):
    """Post jobs for so long; return processor and clock milliseconds of each."""
    until, found = time.monotonic() + seconds, []
    while time.monotonic() < until:
        body = next(jobs)
        cpu, wall = time.thread_time(), time.perf_counter()
        answer = client.post("/jobs", json=body)
        found.append(((time.thread_time() - cpu) * 1000, (time.perf_counter() - wall) * 1000))
        assert answer.status_code == 201, answer.text
        time.sleep(every_s)
    return found


def main():
    """Post in turn alone and beside the pages."""
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--turns", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=5.0, help="of a turn")
    parser.add_argument("--every", type=float, default=0.2, help="seconds from job to job")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        firm, engine = laid_out(Path(folder), 200, 30)
        firm.plan_day()
        world = make_world(unit_of_work_opener(engine), reading_opener(engine))
        world.clock.move(days=-4, hours=-6)
        watchers, office = opened(world, firm)
        jobs = bodies(office)
        unchanged(firm, office)  # first: the day has no more jobs yet than it was planned with
        watchers.ask_all()
        posted(office, jobs, seconds=1.0, every_s=0.0)
        alone, asking, reading, beside_s = [], [], [], 0.0
        for _ in range(options.turns):
            alone += posted(office, jobs, seconds=options.seconds, every_s=options.every)
            for found, reads_anew in ((asking, False), (reading, True)):
                watchers.reads_anew = reads_anew
                began = time.monotonic()
                with watchers:
                    more = posted(office, jobs, seconds=options.seconds, every_s=options.every)
                found.extend(more)
                beside_s += time.monotonic() - began
        told("that ask", alone, asking)
        told("that read anew", alone, reading)
        spent(watchers, beside_s)
        engine.dispose()


def unchanged(firm, office):
    """Print the processor time of answers to who has them already."""
    query = {"depot_id": str(firm.depot_id)}
    vehicle = office.get("/vehicles?limit=1").json["items"][0]["id"]
    routing = f"/days/{DAY.isoformat()}/routing"
    office.get(routing, query_string=query)
    for path in (routing, f"/vehicles/{vehicle}/today", f"/days/{DAY.isoformat()}/stream"):
        asked = {} if "vehicles" in path else query
        first = office.get(path, query_string=asked)
        if path == routing:
            began = time.thread_time()
            for _ in range(ASKED):
                whole = office.get(path, query_string=asked)
            spent_ms = (time.thread_time() - began) * 1000 / ASKED
            print(f"routing   : {whole.status_code} in {spent_ms:6.2f} ms of a processor")
        headers = {"If-None-Match": first.headers.get("ETag", ""), "Last-Event-ID": ""}
        if "id: " in first.text[:100]:
            headers["Last-Event-ID"] = first.text.partition("id: ")[2].partition("\n")[0]
        began = time.thread_time()
        for _ in range(ASKED):
            answer = office.get(path, query_string=asked, headers=headers)
        spent_ms = (time.thread_time() - began) * 1000 / ASKED
        kind = path.rpartition("/")[2]
        print(f"{kind:10}: {answer.status_code} in {spent_ms:6.2f} ms of a processor")


def told(name, alone, beside):
    """Print what a post costs beside pages, and alone."""
    for place, kind in enumerate(("processor", "clock")):
        one, other = (statistics.median(post[place] for post in each) for each in (alone, beside))
        print(
            f"post, {kind:9}: alone {one:6.2f} ms, beside {PAGES} day pages and {CREWS} crews "
            f"{name} {other:6.2f} ms, ratio {other / one:.2f} "
            f"({len(alone)} and {len(beside)} posts)"
        )


def spent(watchers, beside_s):
    """Print what the pages cost."""
    for name, spent_s in sorted(watchers.spent_s.items()):
        count = watchers.asked[name]
        print(
            f"{name:10}: {count:5} asked, {1000 * spent_s / count:7.2f} ms of a processor each, "
            f"{100 * spent_s / beside_s:5.1f} % of one core"
        )


if __name__ == "__main__":
    main()
