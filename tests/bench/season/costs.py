"""What requests cost, at the speed that the machine had at first."""

import json
import math
import statistics
import time
from collections import defaultdict

from sqlalchemy import text

from service.storage.tables import Row
from tests.bench.season.asked import requests

TOLD_FROM_MS = 2.0
TIMES = 5  # each request is sent so often; the median counts


def measured(service, *, slowest=False):
    """Return milliseconds and statements of each request, by its name."""
    found = {}
    for name, send, before in requests(service):
        times, counts = [], []
        for _ in range(TIMES):
            if before is not None:
                before()
            service.statements.clear()
            work_ms = fixed_work_ms()
            began_ms = service.used_ms()
            send()
            used_ms = service.used_ms() - began_ms
            work_ms = min(work_ms, fixed_work_ms())
            times.append(used_ms * QUIET_MS / work_ms)
            counts.append(len(service.statements))
        found[name] = statistics.median(times), statistics.median_low(counts)
        if slowest:
            tell_slowest(service, name)
    return found


def fixed_work_ms():
    """Return the processor time of some work that is always the same: how fast the machine is."""
    began_ns = time.process_time_ns()
    json.loads(json.dumps(FIXED_WORK))
    return (time.process_time_ns() - began_ns) / 1e6


FIXED_WORK = [{"number": number, "text": str(number)} for number in range(2000)]
QUIET_MS = min(fixed_work_ms() for _ in range(50))


def tell_slowest(service, name):
    """Print the slowest statement of the request that was sent last, and how it is answered."""
    ms, statement, parameters = max(service.statements, key=lambda one: one[0])
    if ms < TOLD_FROM_MS:
        return
    print(f"\n{name}: {ms:.1f} ms: {' '.join(statement.split())[-400:]}")
    asked = "EXPLAIN QUERY PLAN " if service.engine.dialect.name == "sqlite" else "EXPLAIN "
    with service.engine.connect() as connection:
        for row in connection.exec_driver_sql(asked + statement, parameters):
            print("   ", row[-1])


def told(found, what="days"):
    """Print a table: rows are requests, columns are days, or firms."""
    days = sorted(found)
    head = "".join(f"{count:>8} {what}" for count in days)
    print(f"{'ms of processor, statements':40}{head}   exponent")
    for name in found[days[0]]:
        cells = "".join(f"{found[day][name][0]:8.1f} {found[day][name][1]:4}" for day in days)
        first, last = found[days[0]][name][0], found[days[-1]][name][0]
        grows = math.log(last / first) / math.log(days[-1] / days[0]) if len(days) > 1 else 0.0
        print(f"{name:40}{cells} {grows:10.2f}{'  <-' if grows > 0.05 else ''}")


def sizes(service):
    """Print how many bytes each table holds."""
    held = defaultdict(int)
    with service.engine.connect() as connection:
        if service.engine.dialect.name == "postgresql":
            asked = "SELECT relname, pg_total_relation_size(oid) FROM pg_class WHERE relkind = 'r'"
        else:
            asked = "SELECT name, sum(pgsize) FROM dbstat GROUP BY name"
        for name, size in connection.execute(text(asked)):
            held[name] += size
    tables = {name: held[name] for name in Row.metadata.tables if held[name]}
    biggest = sorted(tables, key=tables.get, reverse=True)[:8]
    print("bytes:", ", ".join(f"{name} {tables[name] / 1e6:.1f} MB" for name in biggest))
