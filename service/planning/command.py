"""`clipping-dispatch solve`: a problem file in, a plan file out."""

from __future__ import annotations

import argparse
import dataclasses
import json
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, TextIO, TypedDict

from service.planning.checker.check import check_plan
from service.planning.model.faults import Fault, PlanNotLegal, ProblemNotUsable
from service.planning.model.problem import Problem
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.orders.budget import CLOCK
from service.planning.orders.proposal import Proposal, free_vehicle, propose
from service.planning.outcome.assembly import NO_SCOPE
from service.planning.search.construction import LockNotPossible
from service.planning.solve import solve
from service.planning.warm import ready

NOT_USABLE = 2
NOT_LEGAL = 3
MOST_TO_EXPLAIN = 1_000  # jobs; above, runners-up would take longer than the plan
ROUNDS_BY_CLOCK = 1_000_000


class _Options(TypedDict):
    """What is asked of the planner, whether it orders jobs too or not."""

    seed: int
    stop: StopRule
    explain: bool
    progress: Callable[[str], None]


def solve_command(
    argv: Sequence[str] | None = None, *, out: TextIO | None = None, err: TextIO | None = None
) -> int:
    """Read a problem, write its plan, and return the exit code.

    Parameters
    ----------
    argv
        Arguments after the word ``solve``; the process's own if None.
    out, err
        Where the plan goes if no file is named, and where progress and faults go.

    Returns
    -------
    int
        0 if a plan was written; 2 if the problem cannot be used, with every fault named and
        nothing written; 3 if the plan failed the independent check, nothing written.
    """
    out, err = out or sys.stdout, err or sys.stderr
    options = _parser().parse_args(argv)
    try:
        _judge_files(options.problem, [options.output, options.propose_order])
        document = _read(options.problem)
        problem = Problem.from_json(document)
        wanted: _Options = {
            "seed": options.seed,
            "stop": _stop_rule(options),
            "explain": not options.first and len(problem.jobs) <= MOST_TO_EXPLAIN,
            "progress": lambda line: print(line, file=err, flush=True),
        }
        ready(wanted["progress"])  # before the clock of the search runs
        if options.propose_order is None:
            plan = solve(problem, **wanted)
        else:
            freedoms = [free_vehicle(vehicle) for vehicle in problem.vehicles]
            proposal = propose(problem, freedoms, **wanted)
            problem, plan = proposal.problem, _with_order_work(proposal)
            print("\n".join(_told(proposal)), file=err)
        _judge(problem, plan)
        if options.propose_order is not None:
            _write(options.propose_order, _with_orders(document, problem))
    except LockNotPossible as refusal:
        return _refuse(_impossible_locks(problem, refusal), err, NOT_USABLE)
    except ProblemNotUsable as refusal:
        return _refuse(refusal.faults, err, NOT_USABLE)
    except PlanNotLegal as refusal:
        return _refuse(refusal.faults, err, NOT_LEGAL)
    if options.output is None:
        out.write(_text(plan.to_json()))
    else:
        _write(options.output, plan.to_json())
    print(
        f"{plan.status}: {plan.cost_cents.total} cents, {_gap_of(plan)}, "
        f"ended by {plan.work.ended_by}, {plan.seconds} s",
        file=err,
    )
    return 0


def _gap_of(plan: Plan) -> str:
    if plan.bound_scope == NO_SCOPE:
        return "no bound"
    return f"gap {plan.gap_permille} permille{'' if plan.bound_proven else ' (not proven)'}"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="clipping-dispatch solve", description="Plan a day from a problem file."
    )
    parser.add_argument("problem", metavar="PROBLEM.json", type=Path)
    parser.add_argument("-o", "--output", metavar="PLAN.json", type=Path)
    parser.add_argument("--seed", type=int, default=0, help="of the search; 0 if not given")
    parser.add_argument(
        "--propose-order",
        metavar="ORDERED.json",
        type=Path,
        help="propose an order of jobs to every vehicle, say the gain, and write the problem with "
        "these orders here; the plan is then of that problem",
    )
    until = parser.add_mutually_exclusive_group()
    until.add_argument(
        "--seconds",
        type=_limit,
        help="look for better plans at most this long, and for orders as long again",
    )
    until.add_argument(
        "--gap", type=_limit, help="stop at this proven gap, in permille; 3 if no option is given"
    )
    until.add_argument("--first", action="store_true", help="the first plan, without a bound")
    return parser


def _limit(text: str) -> float:
    """Return a limit: a finite number, 0 or more."""
    limit = float(text)
    if not math.isfinite(limit) or limit < 0:
        raise ValueError(text)
    return limit


def _told(proposal: Proposal) -> Iterator[str]:
    """Yield what the proposed orders gain: the day, then every vehicle."""
    own, new = proposal.own_figures, proposal.figures
    driven_m = sum(own[name].distance_m - new[name].distance_m for name in own)
    late_s = sum(own[name].late_s - new[name].late_s for name in own)
    yield (
        f"proposed orders: {len(proposal.taken)} of {len(own)} vehicles, "
        f"{proposal.own.cost_cents.total} cents become {proposal.plan.cost_cents.total}, "
        f"gain {proposal.gain_cents} cents, {driven_m} m, {late_s} s late; "
        f"{proposal.work.judged} orders judged, ended by {proposal.work.ended_by}"
    )
    if proposal.work.ended_by == CLOCK:
        yield "the clock cut the search for orders: another machine may find others"
    taken = {order.vehicle for order in proposal.taken}
    for order in proposal.found:
        if order.vehicle in taken:
            before, after = own[order.vehicle].cost_cents, new[order.vehicle].cost_cents
            yield f"{order.vehicle}: {before} cents become {after}: {' '.join(order.jobs)}"
        else:
            yield f"{order.vehicle}: keeps its order, {order.reason or 'dearer_together'}"


def _with_order_work(proposal: Proposal) -> Plan:
    """Return the plan; it says how many orders were looked at, and what ended that."""
    done = proposal.work
    work = dataclasses.replace(
        proposal.plan.work, orders=done.judged, orders_ended_by=done.ended_by
    )
    return dataclasses.replace(proposal.plan, work=work)


def _with_orders(document: dict[str, Any], problem: Problem) -> dict[str, Any]:
    """Return the problem's document with the orders of jobs that the problem has."""
    vehicles = zip(document["vehicles"], problem.vehicles, strict=True)
    return {
        **document,
        "vehicles": [{**written, "jobs": list(v.jobs)} for written, v in vehicles],
    }


def _text(document: dict[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def _write(path: Path, document: dict[str, Any]) -> None:
    path.write_text(_text(document), encoding="utf-8")


def _judge_files(problem: Path, written: list[Path | None]) -> None:
    """Refuse files that cannot be written before time is spent on what goes into them.

    One that would take the place of the problem, or of the other, cannot either.
    """
    taken, faults = {problem.resolve()}, []
    for path in written:
        if path is None:
            continue
        if path.is_dir() or not path.absolute().parent.is_dir():
            detail = f"{path} cannot be written: it must be a file in a folder that is there."
            faults.append(Fault(pointer="", code="not_writable", detail=detail))
        elif path.resolve() in taken:
            detail = f"{path} is the name of another file of this call."
            faults.append(Fault(pointer="", code="not_writable", detail=detail))
        taken.add(path.resolve())
    if faults:
        raise ProblemNotUsable(faults)


def _impossible_locks(problem: Problem, together: LockNotPossible) -> list[Fault]:
    """Return the vehicles that cannot keep their locked tips: each is planned as if alone.

    If each of them can, it is the one that cannot ``together`` with the others.
    """
    faults = []
    for number, vehicle in enumerate(problem.vehicles):
        alone = dataclasses.replace(problem, vehicles=(vehicle,))
        try:
            solve(alone, stop=StopRule(first=True), explain=False)
        except LockNotPossible as refusal:
            at = f"/vehicles/{number}/locked"
            faults.append(Fault(pointer=at, code=refusal.code, detail=str(refusal)))
    code, detail = together.code, str(together)
    return faults or [Fault(pointer="/vehicles", code=code, detail=detail)]


def _judge(problem: Problem, plan: Plan) -> None:
    """Let the independent checker look at the plan before anybody else does."""
    faults = check_plan(problem, plan)
    if faults:
        raise PlanNotLegal(faults)


def _stop_rule(options: argparse.Namespace) -> StopRule:
    if options.first:
        return StopRule(first=True)
    if options.seconds is not None:
        return StopRule(gap_permille=0.0, rounds=ROUNDS_BY_CLOCK, seconds=options.seconds)
    if options.gap is not None:
        return StopRule(gap_permille=options.gap)
    return StopRule()


def _read(path: Path) -> Any:  # noqa: ANN401 - whatever the JSON file holds; it is judged next
    try:
        return json.loads(
            path.read_text(encoding="utf-8"),
            parse_constant=_no_constant,
            object_pairs_hook=_each_once,
        )
    except OSError as error:
        raise ProblemNotUsable(
            [Fault(pointer="", code="not_readable", detail=f"{path}: {error.strerror}.")]
        ) from error
    except (ValueError, RecursionError) as error:
        raise ProblemNotUsable(
            [Fault(pointer="", code="not_json", detail=f"{path} is not JSON: {error}.")]
        ) from error


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object; a reader that keeps one of two values would plan another day."""
    read = dict(pairs)
    if len(read) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        message = f"the key {twice!r} stands twice in one object"
        raise ValueError(message)
    return read


def _no_constant(word: str) -> None:
    message = f"{word} is not a number JSON knows"
    raise ValueError(message)


def _refuse(faults: Sequence[Fault], err: TextIO, code: int) -> int:
    for fault in faults:
        print(fault, file=err)
    return code
