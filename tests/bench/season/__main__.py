"""What requests cost after a season: processor time and statements, by days of history.

    python -m tests.bench.season                         both databases, 1, 25, 125 and 250 days
    python -m tests.bench.season --days 1 25 --on sqlite
    python -m tests.bench.season --days 10 --firms 100   the same among 99 other firms as large

One day of 200 jobs is lived through the use cases: mown, planned, tipped, weighed, notes issued.
The days before it are its rows with ids and times moved back, written in bulk, so that a season
takes minutes. Then each request is sent some times to the real application, in process. Told are
the median milliseconds of processor time, user and system, PostgreSQL's own process included, at
the speed that the machine had at first (it is told by a fixed piece of work beside each), the
statements, and the exponent from the first to the last number of days, which is 0 where nothing
grows. It asserts nothing about time.
"""

import argparse
import os
import tempfile
import time

from service import logs
from tests.bench.season.costs import measured, sizes, told
from tests.bench.season.history import History, lived, neighbours, today
from tests.bench.season.service import JOBS, Service
from tests.servers import postgresql

DAYS = (1, 25, 125, 250)


def season(url, days, *, firms=1, slowest=False):
    """Live a day, write days before it and firms beside, and print what requests cost by then."""
    service = Service(url)
    began = time.perf_counter()
    loads = lived(service)
    history = History(service.engine)
    today(service)
    print(f"a day of {JOBS} jobs, {loads} loads, lived in {time.perf_counter() - began:.0f} s")
    found = {}
    for count in days:
        began = time.perf_counter()
        history.reach(count)
        written_s = time.perf_counter() - began
        measured(service) if count == days[0] else None  # what is read or made once, is
        found[count] = measured(service, slowest=slowest and count == days[-1])
        print(f"{count} days: written in {written_s:.0f} s", flush=True)
    told(found)
    if firms > 1:
        neighbours(service, firms)
        told({1: found[days[-1]], firms: measured(service)}, what="firms")
    sizes(service)
    service.engine.dispose()


def main():
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, nargs="+", default=DAYS)
    parser.add_argument("--firms", type=int, default=1, help="so many at last, all as large")
    parser.add_argument("--on", nargs="+", default=("sqlite", "postgresql"))
    parser.add_argument("--slowest", action="store_true", help="say how statements are answered")
    options = parser.parse_args()
    logs.configure(level="error", log_format="console")
    more = {"firms": options.firms, "slowest": options.slowest}
    if "sqlite" in options.on:
        with tempfile.TemporaryDirectory() as folder:
            print(f"\nSQLite, process {os.getpid()}")
            season(f"sqlite:///{folder}/season.db", options.days, **more)
    if "postgresql" in options.on:
        with postgresql.running() as server:
            server.create_database("season")
            print("\nPostgreSQL")
            season(server.url("season"), options.days, **more)


if __name__ == "__main__":
    main()
