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
import json
import math
import os
import statistics
import tempfile
import time
from collections import defaultdict
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

from sqlalchemy import event, insert, literal, select, text

from service import bootstrap, logs
from service.gateways.time_and_ids import FreshIdentifiers
from service.planning.model.stop_rule import StopRule
from service.settings import Settings
from service.storage.engine import make_engine
from service.storage.migrations import upgrade
from service.storage.tables import Row
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.bench.service import street
from tests.fakes import SetClock
from tests.firms import DAY, SIX, make_firm
from tests.screens import OURS
from tests.servers import postgresql
from tests.worlds import World

DAYS = (1, 25, 125, 250)
JOBS, VEHICLES = 200, 30
TOLD_FROM_MS = 2.0
TIMES = 5  # each request is sent so often; the median counts
SETTINGS = Settings(database_url="sqlite://", signing_key="a signing key of the bench, no other")
# What a day leaves; everything else is the firm's, and stays.
OF_A_DAY = (
    "day_plans",
    "working_days",
    "jobs",
    "loads",
    "weighed_loads",
    "mass_movements",
    "mass_balances",
    "hold_entries",
    "delivery_notes",
    "amendments",
)
# Their secrets stand once in a database.
OPENS_DOORS = {"api_keys", "sessions"}
ROWS_AT_ONCE = 2000
MS_A_DAY = 86_400_000
MOVED_BY_RANDOM_BITS = 80  # below the milliseconds of a UUIDv7 (RFC 9562, 5.7)


class Service:
    """The application over one database, a firm in it, and what its requests cost."""

    def __init__(self, url, *, jobs=JOBS, vehicles=VEHICLES):
        upgrade(url)
        self.sizes = jobs, vehicles
        self.url = url
        self.engine = make_engine(url)
        self.clock = SetClock(SIX)
        self.statements = []
        self.backends = set()
        self.began_ns = 0
        event.listen(self.engine, "before_cursor_execute", self._heard)
        event.listen(self.engine, "after_cursor_execute", self._ended)
        if self.engine.dialect.name == "postgresql":
            event.listen(self.engine, "connect", self._connected)
        writing, reading = unit_of_work_opener(self.engine), reading_opener(self.engine)
        self.use_cases = bootstrap.build_use_cases(
            SETTINGS,
            writing=writing,
            reading=reading,
            clock=self.clock,
            identifiers=FreshIdentifiers(),
            stop=StopRule(first=True),
        )
        app = bootstrap.make_app(SETTINGS, self.use_cases)
        self.firm = make_firm(writing)
        key = World(
            app=app, clock=self.clock, identifiers=FreshIdentifiers(), open_unit_of_work=writing
        ).key(self.firm.caller.firm_id)
        self.client = app.test_client()
        self.client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {key}"
        self.device = app.test_client()
        link = self.sent("POST", "/sessions", json={"seat": "dispatcher", "name": "Dana"})
        self.device.post(link.json["link"].removeprefix(SETTINGS.public_url), headers=OURS)

    def _heard(self, _connection, _cursor, statement, parameters, *_rest):
        self.statements.append([0.0, statement, parameters])
        self.began_ns = time.perf_counter_ns()

    def _ended(self, *_all):
        self.statements[-1][0] = (time.perf_counter_ns() - self.began_ns) / 1e6

    def _connected(self, connection, _entry):
        self.backends.add(connection.info.backend_pid)

    def sent(self, method, path, *, by=None, **body):
        """Return the answer to a request, which must be a good one."""
        answer = (by or self.client).open(path, method=method, **body)
        assert answer.status_code < 400, answer.text
        return answer

    def used_ms(self):
        """Return the processor time so far of this process and of its connections' servers."""
        ours = time.process_time_ns()
        for pid in self.backends:
            told = Path(f"/proc/{pid}/schedstat")
            ours += int(told.read_text(encoding="ascii").split()[0]) if told.exists() else 0
        return ours / 1e6


def lived(service):
    """Live a day of 200 jobs on which everything is tipped; return how many loads."""
    firm = service.firm
    firm.crews_cost(0)  # so that beds beside the lawns take their part, as where clients ask for it
    jobs, vehicles = service.sizes
    crews = [firm.crew(firm.vehicle(f"V{number:03}")) for number in range(vehicles)]
    for number in range(jobs // 50):
        firm.site(name=f"Site {number}", daily_capacity_kg=jobs * 150.0)
    lawns = []
    for number in range(jobs):
        lawn = firm.lawn(number, area_m2=300.0 + 37 * (number % 20), point=street(number))
        lawns.append(lawn)
        if number % 2 == 0:
            firm.bed(lawn, area_m2=20.0 + number % 60)
    service.lawns, service.crews = lawns, crews
    service.clock.at = SIX + timedelta(hours=6)
    service.sent("POST", "/jobs/batches", json={"jobs": jobs_of(service, SIX, mown=True)})
    wanted = {"depot_id": str(firm.depot_id), "day": DAY.isoformat()}
    service.sent("POST", "/day-plans", json=wanted)
    service.clock.at = SIX + timedelta(hours=11)
    loads = service.sent("GET", "/loads?state=planned&limit=200").json["items"]
    for number, load in enumerate(loads):
        done = {"state": "delivered", "done_at": load["arrive_at"]}
        if load["destination_kind"] == "compost_site" or number % 5 == 0:
            likely = load["mass_kg"]["likely"] * (0.9 + 0.02 * (number % 10))
            done |= {"weighed_net": {"value": round(likely), "unit": "kg"}}
            done |= {"weigh_ticket": f"W-{number}", "ticket_review": "accepted"}
        service.sent(
            "PATCH", f"/loads/{load['id']}", json=done, headers={"If-Match": f'"{load["version"]}"'}
        )
    for entry in service.sent("GET", "/hold-entries?state=in_bay&limit=200").json["items"]:
        out = {"state": "released", "released_to": "Hill Farm, on trailer 2"}
        service.sent(
            "PATCH",
            f"/hold-entries/{entry['id']}",
            json=out,
            headers={"If-Match": f'"{entry["version"]}"'},
        )
    service.noted = [load["id"] for load in loads if load["destination_kind"] == "bed"]
    for load_id in service.noted:
        service.sent("POST", f"/loads/{load_id}/delivery-notes")
    return len(loads)


def jobs_of(service, start, *, mown=False):
    """Return the bodies of a day's jobs."""
    return [
        {
            "lawn_id": str(lawn.id),
            "crew_id": str(crew.id),
            "vehicle_id": str(crew.vehicle_id),
            "state": "mown" if mown else "planned",
            ("cut_at" if mown else "planned_at"): at.isoformat(),
            "area_mowed": {"value": lawn.area.value, "unit": "m2"},
            "height_removed": {"value": 25, "unit": "mm"},
            "wetness": "dry",
            "treatment_history": "none_recorded",
        }
        for number, lawn in enumerate(service.lawns)
        for crew in [service.crews[number * len(service.crews) // len(service.lawns)]]
        for at in [start + timedelta(hours=1.5 + 0.6 * (number % 7))]
    ]


class History:
    """Days before the one that was lived: its rows, moved back."""

    def __init__(self, engine):
        """Read what the day left."""
        self._engine = engine
        self._kept = 1
        self._rows = {}
        with engine.connect() as connection:
            for name in OF_A_DAY:
                table = Row.metadata.tables[name]
                found = connection.execute(select(table)).mappings()
                self._rows[name] = [dict(row) for row in found]
        self._ids = {row["id"] for rows in self._rows.values() for row in rows if "id" in row}

    def reach(self, days):
        """Have so many days of history."""
        with self._engine.begin() as connection:
            for back in range(self._kept, days):
                for name in OF_A_DAY:
                    rows = [self._moved(row, back) for row in self._rows[name]]
                    for start in range(0, len(rows), ROWS_AT_ONCE):
                        some = rows[start : start + ROWS_AT_ONCE]
                        connection.execute(insert(Row.metadata.tables[name]), some)
        self._kept = days
        analyzed(self._engine)

    def _moved(self, row, back):
        moved = {name: self._value(value, back) for name, value in row.items()}
        if moved.get("lot_code"):
            moved["lot_code"] = f"{moved['lot_code']}{back}"
        if "number" in moved:
            moved["number"] = f"{moved['number']}/{back}"
        return moved

    def _value(self, value, back):
        if isinstance(value, UUID):
            return self._id(value, back) if value in self._ids else value
        if isinstance(value, (datetime, date)):
            return value - timedelta(days=back)
        if isinstance(value, list) and value and isinstance(value[0], dict):
            return [
                {
                    name: str(self._id(UUID(inner), back)) if name == "job_id" else inner
                    for name, inner in member.items()
                }
                for member in value
            ]
        return value

    @staticmethod
    def _id(old, back):
        return UUID(int=old.int - (back * MS_A_DAY << MOVED_BY_RANDOM_BITS))


def today(service):
    """Begin the day after, planned, as the day on which requests are sent."""
    start = SIX + timedelta(days=1)
    service.clock.at = start - timedelta(hours=1)
    service.sent("POST", "/jobs/batches", json={"jobs": jobs_of(service, start)})
    service.jobs = jobs_of(service, start)
    service.today = start.date().isoformat()
    service.routing = f"/days/{service.today}/routing?depot_id={service.firm.depot_id}"
    service.sent("GET", service.routing)


def requests(service):
    """Yield the name of each request, how it is sent, and what must be done before each time."""
    firm = service.firm
    posts = iter(range(10_000))

    def post_job():
        # For another day: today has as many jobs each time, and costs as much to plan.
        number = next(posts) % len(service.jobs)
        later = timedelta(weeks=1 + number // len(service.jobs))
        job = service.jobs[number]
        at = (datetime.fromisoformat(job["planned_at"]) + later).isoformat()
        return service.sent("POST", "/jobs", json=job | {"planned_at": at})

    first = service.sent("GET", f"/jobs?depot_id={firm.depot_id}&day={service.today}&limit=1").json[
        "items"
    ][0]

    def amend_job():
        path = f"/jobs/{first['id']}"
        version = service.sent("GET", path).json["version"]
        changed = {"minutes_on_site": 20 + next(posts) % 5}
        service.sent("PATCH", path, json=changed, headers={"If-Match": f'"{version}"'})

    def get(path, **more):
        return lambda: service.sent("GET", path, **more)

    def unchanged():
        tag = {"If-None-Match": service.sent("GET", service.routing).headers["ETag"]}
        service.tagged = tag

    note = service.sent("GET", "/delivery-notes?limit=1").json["items"][0]["id"]
    lot = service.sent("GET", f"/jobs?crew_id={service.crews[0].id}&limit=1").json["items"][0]
    bed = service.sent("GET", "/loads?destination_kind=bed&limit=1").json["items"][0]
    yield "post a job", post_job, None
    yield "read, stale", get(service.routing), amend_job
    yield "read, fresh", get(service.routing), None
    yield (
        "read, 304",
        lambda: service.sent("GET", service.routing, headers=service.tagged),
        (unchanged),
    )
    yield (
        "ask for a note again",
        lambda: service.sent("POST", f"/loads/{service.noted[0]}/delivery-notes"),
        None,
    )
    yield "read a note", get(f"/delivery-notes/{note}"), None
    for path in (
        "/jobs?limit=50",
        f"/jobs?limit=50&crew_id={service.crews[-1].id}",
        "/jobs?limit=50&status=unknown",
        "/jobs?limit=50&state=planned",
        "/loads?limit=50&state=planned",
        "/loads?limit=50&destination_kind=hold_bay",
        f"/loads?limit=50&working_day={service.today}",
        f"/loads?limit=50&vehicle_id={service.crews[-1].vehicle_id}",
        "/day-plans?limit=50",
        "/delivery-notes?limit=50",
        "/hold-entries?state=in_bay",
        "/mass-movements?limit=50",
    ):
        yield short(path), get(path), None
    yield "day page", get("/screens/day", by=service.device), None
    yield (
        "day page, mark",
        get(f"/screens/day/mark?depot={firm.depot_id}&day={service.today}", by=service.device),
        None,
    )
    yield "hold queue", get(f"/hold-queue?depot_id={firm.depot_id}"), None
    yield "mass balances", get("/mass-balances"), None
    yield (
        "mass balance of a day",
        get(f"/days/{DAY.isoformat()}/mass-balance?depot_id={firm.depot_id}"),
        None,
    )
    yield "recall a lot", get(f"/recall?lot_code={lot['lot_code']}"), None
    yield (
        "recall a bed, 30 days",
        get(f"/recall?destination_id={bed['destination_id']}&since={DAY - timedelta(days=30)}"),
        None,
    )


def short(path):
    """Return a list's address without the ids in it."""
    plain, _, query = path.partition("?")
    told = [one for one in query.split("&") if not one.startswith("limit")]
    return f"{plain} {' '.join(one[:28] for one in told)}".strip()


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


def neighbours(service, count):
    """Have so many firms in all: each other one has the records of the first, under its own id."""
    mine = service.firm.caller.firm_id
    with service.engine.begin() as connection:
        firms = Row.metadata.tables["firms"]
        (row,) = connection.execute(select(firms).where(firms.c.id == mine)).mappings()
        others = [uuid4() for _ in range(count - 1)]
        connection.execute(insert(firms), [dict(row) | {"id": other} for other in others])
        for table in Row.metadata.sorted_tables:
            if "firm_id" not in table.columns or table.name in OPENS_DOORS:
                continue
            names = [column.name for column in table.columns]
            for other in others:
                columns = [
                    literal(other, column.type) if column.name == "firm_id" else column
                    for column in table.columns
                ]
                kept = select(*columns).where(table.c.firm_id == mine)
                connection.execute(insert(table).from_select(names, kept))
    analyzed(service.engine)


def analyzed(engine):
    """Have PostgreSQL look at its tables, as it does by itself after a while."""
    if engine.dialect.name == "postgresql":
        with engine.connect() as connection:
            connection.execute(text("ANALYZE"))
            connection.commit()


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
