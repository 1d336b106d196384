"""How long the service takes, beside a bare insert in the same run.

``python -m tests.bench.service`` prints: posting a job against a bare Flask, marshmallow
and SQLAlchemy insert, request by request in turn; planning days of 20, 200 and 1,000 jobs;
reading a day's routing, with the number of SQL statements; reading it after something happened,
beside planning the whole day. It asserts nothing about time.
"""

import argparse
import resource
import statistics
import tempfile
import time
from datetime import timedelta
from pathlib import Path
from uuid import UUID

from flask import Flask, request
from marshmallow import Schema, fields
from sqlalchemy import create_engine, event, insert
from sqlalchemy.orm import DeclarativeBase, Mapped, Session, mapped_column

from service import logs
from service.core.callers.access import Role
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.core.places import Point
from service.planning.model.stop_rule import StopRule
from service.storage.engine import make_engine
from service.storage.migrations import upgrade
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.firms import DAY, SIX, make_firm
from tests.worlds import make_world

REQUESTS = 200
GUARD_S = 5.0  # what the service lets the planner look
SIZES = ((20, 4), (200, 30), (1000, 120))


class Base(DeclarativeBase):
    """Tables of the bare application."""


class BareJob(Base):
    """A job as the bare application keeps it."""

    __tablename__ = "jobs"
    id: Mapped[int] = mapped_column(primary_key=True)
    lawn: Mapped[str]
    area: Mapped[float]
    height: Mapped[float]
    at: Mapped[str]


class BareSchema(Schema):
    """A job as the bare application reads it."""

    lawn = fields.String(required=True)
    area = fields.Float(required=True)
    height = fields.Float(required=True)
    at = fields.String(required=True)


def bare_app(folder):
    """Return the least that could keep a job: one schema, one insert."""
    engine = create_engine(f"sqlite:///{folder}/bare.db")
    Base.metadata.create_all(engine)
    app = Flask(__name__)
    schema = BareSchema()

    @app.post("/jobs")
    def post_job():
        values = schema.load(request.get_json())
        with Session(engine) as session:
            session.execute(insert(BareJob).values(**values))
            session.commit()
        return schema.dump(values), 201

    return app, engine


def peak_mb():
    """Return the peak memory of this process so far [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def timed(call):
    """Return what a call gives, and its milliseconds."""
    started = time.perf_counter()
    answer = call()
    return answer, (time.perf_counter() - started) * 1000


def used(call):
    """Return what a call gives, and its milliseconds of processor time."""
    started = time.process_time()
    answer = call()
    return answer, (time.process_time() - started) * 1000


def posting(folder):
    """Print processor time of a bare insert and of a posted job, in turn, and their ratio.

    Each job is of a lawn of its own, as on a day of work.
    """
    bare, bare_engine = bare_app(folder)
    url = f"sqlite:///{folder}/service.db"
    upgrade(url)
    engine = make_engine(url)
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    firm = make_firm(unit_of_work_opener(engine))
    crew, lawns = firm.crew(firm.vehicle()), [firm.lawn(number) for number in range(REQUESTS)]
    ours = world.client(firm.caller.firm_id, Role.CREW, crew_id=crew.id)
    theirs = bare.test_client()
    times = {"bare": [], "job": []}
    for number, lawn in enumerate(lawns):
        at = (SIX + timedelta(minutes=number)).isoformat()
        body = {
            "lawn_id": str(lawn.id),
            "crew_id": str(crew.id),
            "vehicle_id": str(crew.vehicle_id),
            "state": "planned",
            "planned_at": at,
            "area_mowed": {"value": 450, "unit": "m2"},
            "height_removed": {"value": 25, "unit": "mm"},
            "treatment_history": "none_recorded",
        }
        bare_body = {"lawn": str(lawn.id), "area": 450, "height": 25, "at": at}
        answer, ms = used(lambda body=bare_body: theirs.post("/jobs", json=body))
        times["bare"].append(ms)
        answer, ms = used(lambda body=body: ours.post("/jobs", json=body))
        assert answer.status_code == 201, answer.text
        times["job"].append(ms)
    ratio = statistics.median(
        job / bare for job, bare in zip(times["job"], times["bare"], strict=True)
    )
    for name, found in times.items():
        ordered = sorted(found)
        print(
            f"post {name:5} median {statistics.median(found):7.2f} ms   "
            f"p95 {ordered[int(0.95 * len(ordered))]:7.2f} ms"
        )
    print(f"post ratio job / bare insert {ratio:.1f}   peak {peak_mb():.0f} MB")
    engine.dispose()
    bare_engine.dispose()


def street(number):
    """Return a point of a town of blocks of twenty houses, some 300 m from one to the next."""
    block, house = divmod(number, 20)
    return Point(
        latitude=51.5 + 0.012 * (block % 7) + 0.0028 * (house % 4),
        longitude=-2.5 + 0.022 * (block // 7) + 0.0042 * (house // 4),
    )


def laid_out(folder, jobs, vehicles):
    """Return a firm in a database with so many jobs, vehicles and beds."""
    url = f"sqlite:///{folder}/day{jobs}.db"
    upgrade(url)
    engine = make_engine(url)
    firm = make_firm(unit_of_work_opener(engine), stop=StopRule(first=True))
    firm.crews_cost(0)  # so that beds beside the lawns take their part, as where clients ask for it
    crews = [firm.crew(firm.vehicle(f"V{number:03}")) for number in range(vehicles)]
    for number in range(max(2, jobs // 60)):
        firm.site(name=f"Site {number}", daily_capacity_kg=jobs * 150.0)
    rows = []
    for number in range(jobs):
        lawn = firm.lawn(number, area_m2=300.0 + 37 * (number % 20), point=street(number))
        if number % 2 == 0:
            firm.bed(lawn, area_m2=20.0 + number % 60)
        rows.append(
            firm.job(
                lawn,
                crews[number * vehicles // jobs],
                hour=7.5 + 0.8 * (number % (jobs // vehicles + 1)),
            )
            | {"area_mowed": Measure(value=lawn.area.value, unit="m2")}
        )
    firm.jobs.create_many(firm.caller, rows)
    return firm, engine


def days(folder, sizes):
    """Print seconds to plan and to read days of growing size, and the statements of reading."""
    for jobs, vehicles in sizes:
        firm, engine = laid_out(folder, jobs, vehicles)
        _, cold = timed(firm.plan_day)
        _, warm = timed(firm.plan_day)
        statements = []
        event.listen(
            engine, "before_cursor_execute", lambda *call, seen=statements: seen.append(call[2])
        )
        plan, read = timed(lambda firm=firm: firm.routing(firm.caller, firm.depot_id, DAY))
        routed = sum(lot["outcome"] == "routed" for lot in plan.routing["lots"])
        print(
            f"day of {jobs:5} jobs: plan {cold / 1000:7.2f} s, again {warm / 1000:7.2f} s, "
            f"read {read:7.1f} ms in {len(statements)} statements, "
            f"{routed} routed, {len(plan.routing['unplaced'])} vehicles with rest, "
            f"peak {peak_mb():.0f} MB"
        )
        engine.dispose()


def answering(folder, jobs=200, vehicles=30):
    """Print processor seconds to read a day after beds refused, and to plan it whole."""
    firm, engine = laid_out(folder, jobs, vehicles)
    stop = StopRule(seconds=GUARD_S)
    plan = firm.plan(firm.caller, firm.depot_id, DAY, stop=stop)
    for place in [d for d in plan.routing["destinations"] if d["loads"]][:3]:
        if place["destination_kind"] != "bed":
            continue
        bed = firm.library.beds.read(firm.caller, UUID(place["destination_id"]))
        firm.clock.move(minutes=1)
        firm.library.beds.amend(
            firm.caller,
            bed.id,
            {"consent": Consent(state=ConsentState.WITHDRAWN)},
            expected_version=bed.version,
        )
        began = time.process_time()
        answer = firm.routing(firm.caller, firm.depot_id, DAY)
        answered_s = time.process_time() - began
        began = time.process_time()
        plan = firm.plan(firm.caller, firm.depot_id, DAY, stop=stop)
        told = answer.routing["planning"]
        print(
            f"a bed refuses, {jobs} jobs, {vehicles} vehicles: {told['scope']}, "
            f"{len(told['vehicles'])} planned again in {answered_s:.2f} s, "
            f"whole day in {time.process_time() - began:.2f} s, "
            f"cost {answer.cost_cents} and {plan.cost_cents} cents"
        )
    engine.dispose()


def main():
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most-jobs", type=int, default=1000)
    options = parser.parse_args()
    logs.configure(level="error", log_format="console")
    with tempfile.TemporaryDirectory() as folder:
        posting(Path(folder))
        days(Path(folder), [size for size in SIZES if size[0] <= options.most_jobs])
        with tempfile.TemporaryDirectory() as another:
            answering(Path(another))


if __name__ == "__main__":
    main()
