"""Any other planner in the same comparison: a command that reads a problem and writes a plan.

The plan is read leniently: of its stops only jobs, destinations and kilograms are believed. They
are written out anew and replayed by the independent checker, so its cost is worked out here and
not taken from the file. Only where the stops do not make up a day is the cost the one it states.
"""

from __future__ import annotations

import json
import os
import shlex
import signal
import subprocess
import tempfile
import threading
import time
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from service.planning.arrays.tables import Tables
from service.planning.model.problem import Problem, Vehicle
from service.planning.outcome.assembly import NO_SCOPE
from service.planning.tip_plans.columns import Column, Tips, true_cost
from service.planning.tip_plans.shortlists import NOWHERE
from tests.bench.planning.table import Row, judged, told

PLACEHOLDERS = ("{problem}", "{plan}", "{seconds}")
# A planner may overrun what it is given: twice as much and a start are waited for, no longer.
OVERRUN, START_S = 2, 60.0


class NotReplayable(Exception):
    """The stops of a plan do not make up the day of the problem."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """Another planner: its name in the table, and the words of its command."""

    name: str
    words: tuple[str, ...]

    @classmethod
    def of(cls, text: str) -> Other:
        """Return the planner that NAME=COMMAND describes.

        Raises
        ------
        ValueError
            If there is no name, or the command has no place for the problem or the plan.
        """
        name, _, command = text.partition("=")
        if not name.strip() or not all(place in command for place in PLACEHOLDERS[:2]):
            raise ValueError(f"{text!r} is not NAME=COMMAND with {{problem}} and {{plan}} in it")
        return cls(name=name.strip(), words=tuple(shlex.split(command)))

    def command(self, *values: object) -> list[str]:
        """Return the command with values in place of the placeholders, in their order."""
        words = list(self.words)
        for place, value in zip(PLACEHOLDERS, values, strict=True):
            words = [word.replace(place, str(value)) for word in words]
        return words


def beside(
    other: Other, document: dict[str, Any], tables: Tables, *, bare_cents: int, seconds: float
) -> Row:
    """Let another planner plan the day; whatever goes wrong is told in the row.

    Parameters
    ----------
    bare_cents
        Cost of the job lists with no tips.
    seconds
        What the planner is told it may take.
    """
    with tempfile.TemporaryDirectory() as folder:
        problem_file, plan_file = Path(folder) / "problem.json", Path(folder) / "plan.json"
        problem_file.write_text(json.dumps(document), encoding="utf-8")
        command = other.command(problem_file, plan_file, f"{seconds:g}")
        began = time.perf_counter()
        failure, processor_s = _run(command, Path(folder) / "words", seconds)
        clock_s = time.perf_counter() - began
        plan = None
        if not failure:
            try:
                plan = json.loads(plan_file.read_text(encoding="utf-8"))
            except (OSError, ValueError) as error:
                failure = f"FAILED: no plan to read, {type(error).__name__}"
    found = Row(way=other.name, known=failure)
    if not failure:
        found = _row(other.name, plan, tables, bare_cents)
    return replace(found, processor_s=processor_s, clock_s=clock_s)


def _run(command: list[str], words: Path, seconds: float) -> tuple[str, float]:
    """Return what went wrong with a command, if anything, and its processor seconds."""
    limit_s = OVERRUN * seconds + START_S
    ended: list[float] = []
    with words.open("wb") as sink:
        try:
            process = subprocess.Popen(
                command, stdout=sink, stderr=sink, stdin=subprocess.DEVNULL, start_new_session=True
            )
        except OSError as error:
            return f"FAILED: {error.strerror}: {command[0]}", 0.0

        def end() -> None:
            ended.append(limit_s)
            os.killpg(process.pid, signal.SIGKILL)

        clock = threading.Timer(limit_s, end)
        clock.start()
        _, status, usage = os.wait4(process.pid, 0)
        clock.cancel()
        process.returncode = code = os.waitstatus_to_exitcode(status)
    spent_s = usage.ru_utime + usage.ru_stime  # its peak of memory would count this process too
    if ended:
        return f"FAILED: ended after {limit_s:.0f} s", spent_s
    if code != 0:
        said = words.read_text(encoding="utf-8", errors="replace").strip().splitlines()
        return f"FAILED: exit {code}: {said[-1] if said else 'not a word'}", spent_s
    return "", spent_s


def _row(name: str, plan: object, tables: Tables, bare_cents: int) -> Row:
    """Return cost and bound of a plan file, worked out from its stops wherever that can be done."""
    document = plan if isinstance(plan, dict) else {}
    stated, bound = _stated(document.get("cost_cents")), _stated(document.get("bound_cents"))
    unsought = document.get("bound_scope") == NO_SCOPE  # the number then stands for none
    bound_cents = None if bound is None or unsought else bound - bare_cents
    try:
        written, faults = judged(tables, columns_of(document, tables))
    except NotReplayable as reason:
        return Row(
            way=name,
            cost_cents=None if stated is None else stated - bare_cents,
            bound_cents=bound_cents,
            known=f"STATED, cannot be replayed: {reason}",
        )
    known, cost = told(faults), written.cost_cents.total
    if stated is not None and stated != cost:
        known += f"; it states {(stated - bare_cents) / 100:.2f}"
    return Row(
        way=name,
        cost_cents=cost - bare_cents,
        bound_cents=bound_cents,
        known=known,
        legal=not faults,
    )


def _stated(value: object) -> int | None:
    """Return an amount as it is stated: a number, or the total of several."""
    if isinstance(value, dict):
        value = value.get("total")
    return round(value) if isinstance(value, int | float) else None


def columns_of(document: dict[str, Any], tables: Tables) -> list[Column]:
    """Return the tip plans that a plan's stops come to.

    Raises
    ------
    NotReplayable
        If a vehicle's jobs are missing or in another order, or a tip is none that could be made.
    """
    problem = tables.problem
    try:
        stops = {one["id"]: one["stops"] for one in document["vehicles"]}
        left = [
            (part["vehicle"], part.get("after_job"), part["mass_kg"])
            for part in document.get("unplaced", ())
        ]
        return [
            _column(tables, index, _tips(problem, vehicle, stops.get(vehicle.id, []), left))
            for index, vehicle in enumerate(problem.vehicles)
        ]
    except (KeyError, TypeError, AttributeError) as error:
        raise NotReplayable(f"{type(error).__name__}: {error}") from error


def _column(tables: Tables, index: int, tips: Tips) -> Column:
    cost = true_cost(tables, tables.vehicles[index], tips)
    return Column(vehicle=index, cost=cost, tips=tips)


def _tips(
    problem: Problem, vehicle: Vehicle, stops: list[dict[str, Any]], left: list[tuple[Any, ...]]
) -> Tips:
    """Return gap, destination number and kilograms of each tip of a day with nothing done yet."""
    numbers = {d.id: number for number, d in enumerate(problem.destinations)}
    masses = {job.id: job.mass_kg for job in problem.jobs}
    body = _Body(vehicle=vehicle, aboard_kg=sum(part.mass_kg for part in vehicle.aboard))
    mine = [(job, kg) for who, job, kg in left if who == vehicle.id]
    body.leave(mine, None)
    for stop in stops:
        job = stop.get("job")
        if job is not None:
            body.load(job, masses)
            body.leave(mine, job)
        elif stop["destination"] in numbers:
            body.tip(numbers[stop["destination"]], stop["mass_kg"])
        else:
            raise NotReplayable(f"there is no destination {stop['destination']}")
    if body.gap < len(vehicle.jobs):
        raise NotReplayable(f"{vehicle.id} leaves out {vehicle.jobs[body.gap]}")
    return tuple(body.tips)


@dataclass(slots=True, kw_only=True)
class _Body:
    """A vehicle on its way through its jobs, and what it has tipped."""

    vehicle: Vehicle
    aboard_kg: int
    gap: int = 0
    tips: list[tuple[int, int, int]] = field(default_factory=list)

    def load(self, job: str, masses: dict[str, int]) -> None:
        if self.gap == len(self.vehicle.jobs) or job != self.vehicle.jobs[self.gap]:
            raise NotReplayable(f"{self.vehicle.id} does its jobs in another order")
        self.gap += 1
        self.aboard_kg += masses[job]

    def leave(self, left: list[tuple[str | None, float]], after: str | None) -> None:
        for job, kg in left:
            if job == after:
                self.tip(NOWHERE, kg)

    def tip(self, number: int, kg: float) -> None:
        if kg != int(kg) or not 0 < kg <= self.aboard_kg:
            raise NotReplayable(f"{self.vehicle.id} tips {kg} of {self.aboard_kg} kg")
        self.tips.append((self.gap, number, int(kg)))
        self.aboard_kg -= int(kg)
