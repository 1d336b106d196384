"""Another planner in the comparison: one that answers, some that fail, some that are not honest."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from service.planning.arrays.tables import tables_of
from service.planning.model.problem import Problem
from service.planning.outcome.assembly import bare_day, cents
from tests.bench.planning import beside as others
from tests.bench.planning import compare
from tests.bench.planning.beside import Other, beside
from tests.bench.planning.days import day
from tests.bench.planning.naive import naive
from tests.bench.planning.table import Group, Row, judged

DAY = day("S", 1)
TABLES = tables_of(Problem.from_json(DAY))
BARE_CENTS = cents(sum(bare_day(TABLES, vehicle) for vehicle in TABLES.problem.vehicles))
# Reads the problem, and writes the plan that lies beside this script.
ANSWERS = """
import json, pathlib, shutil, sys
problem, plan, seconds = sys.argv[1:]
assert json.loads(pathlib.Path(problem).read_text())["name"] == "S-1" and float(seconds) == 2.5
shutil.copy(pathlib.Path(__file__).with_name("answer.json"), plan)
"""


@pytest.fixture
def plain():
    """Return the plain rule's plan as a document, for tests to spoil."""
    plan, faults = judged(TABLES, naive(TABLES))
    assert faults == []
    return plan.to_json()


@pytest.fixture
def row(tmp_path):
    """Return what the table says of a planner that is this script, with this answer."""

    def told(script: str = ANSWERS, answer: object = None) -> Row:
        (tmp_path / "planner.py").write_text(script, encoding="utf-8")
        (tmp_path / "answer.json").write_text(json.dumps(answer), encoding="utf-8")
        command = f"{sys.executable} '{tmp_path}/planner.py' {{problem}} {{plan}} {{seconds}}"
        other = Other.of(f"other={command}")
        return beside(other, DAY, TABLES, bare_cents=BARE_CENTS, seconds=2.5)

    return told


def test_a_planner_that_answers_is_replayed_and_its_whole_process_is_timed(row, plain):
    found = row(answer=plain)
    assert (found.way, found.known, found.legal) == ("other", "replayed", True)
    assert found.cost_cents == plain["disposal_cents"]
    assert found.clock_s > 0
    assert found.processor_s > 0


def test_of_a_plan_only_jobs_destinations_and_kilograms_are_needed(row, plain):
    keys = ("job", "destination", "mass_kg")
    vehicles = [
        {
            "id": v["id"],
            "stops": [{k: stop[k] for k in keys if k in stop} for stop in v["stops"]],
        }
        for v in plain["vehicles"]
    ]
    found = row(answer={"vehicles": vehicles[::-1]})
    assert (found.cost_cents, found.bound_cents) == (plain["disposal_cents"], None)
    assert found.legal


def test_a_planner_that_lies_about_its_cost_is_told_by_what_the_replay_gives(row, plain):
    plain["cost_cents"]["total"] = BARE_CENTS + 100
    found = row(answer=plain)
    assert found.cost_cents == plain["disposal_cents"]
    assert found.known == "replayed; it states 1.00"


def test_a_plan_that_breaks_a_rule_is_said_to(row, plain):
    stops = plain["vehicles"][0]["stops"]
    last = [stop for stop in stops if "destination" in stop][-1]
    last["destination"] = "B0"  # a bed takes clean lots only, and has room for few
    stops.remove(next(stop for stop in stops if "destination" in stop))
    found = row(answer=plain)
    assert found.known.startswith("replayed, NOT LEGAL: /vehicles/0/stops/")
    assert not found.legal


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda plan: plan.pop("vehicles"), "KeyError: 'vehicles'"),
        (lambda plan: plan["vehicles"].pop(0), "V0 leaves out J"),
        (lambda plan: plan["vehicles"][0]["stops"].reverse(), "V0 "),
        (lambda plan: plan["vehicles"][0]["stops"].insert(0, {"destination": "B0"}), "'mass_kg'"),
        (
            lambda plan: plan["vehicles"][0]["stops"].append({"destination": "?", "mass_kg": 1}),
            "there is no destination ?",
        ),
        (
            lambda plan: plan["vehicles"][0]["stops"].insert(
                0, {"destination": "B0", "mass_kg": 1}
            ),
            "V0 tips 1 of 0 kg",
        ),
    ],
)
def test_where_the_stops_make_up_no_day_the_cost_is_said_to_be_only_stated(row, plain, spoil, why):
    spoil(plain)
    plain |= {"bound_cents": BARE_CENTS + 50, "bound_scope": "all plans"}
    found = row(answer=plain)
    assert found.known.startswith("STATED, cannot be replayed: ")
    assert why in found.known
    assert (found.cost_cents, found.bound_cents) == (plain["disposal_cents"], 50)
    assert not found.legal


@pytest.mark.parametrize("answer", [None, 7, [], {"vehicles": 3}, {"cost_cents": "dear"}])
def test_an_answer_that_is_no_plan_at_all_has_neither_cost_nor_bound(row, answer):
    found = row(answer=answer)
    assert (found.cost_cents, found.bound_cents, found.legal) == (None, None, False)
    assert found.known.startswith("STATED, cannot be replayed")


@pytest.mark.parametrize(
    ("script", "why"),
    [
        ("import sys; sys.exit('no licence\\nno plan')", "FAILED: exit 1: no plan"),
        ("import sys; sys.exit(3)", "FAILED: exit 3: not a word"),
        ("import os; os.kill(os.getpid(), 9)", "FAILED: exit -9: not a word"),
        ("", "FAILED: no plan to read, FileNotFoundError"),
        ("import sys; open(sys.argv[2], 'w').write('{')", "FAILED: no plan to read, JSONDecode"),
    ],
)
def test_a_planner_that_fails_is_told_and_not_fatal(row, script, why):
    found = row(script)
    assert found.known.startswith(why)
    assert found.cost_cents is None
    (line,) = Group(day="S-1", jobs=20, bound_cents=1, rows=(found,)).lines()
    assert why in line


def test_a_planner_that_does_not_end_is_ended(row, monkeypatch):
    monkeypatch.setattr(others, "OVERRUN", 0)
    monkeypatch.setattr(others, "START_S", 0.1)
    found = row("while True: pass")
    assert found.known == "FAILED: ended after 0 s"


def test_a_planner_that_is_not_there_is_told():
    other = Other.of("none=/no/such/planner {problem} {plan}")
    found = beside(other, DAY, TABLES, bare_cents=BARE_CENTS, seconds=1.0)
    assert found.known == "FAILED: No such file or directory: /no/such/planner"


@pytest.mark.parametrize("text", ["", "x", "=cat {problem} {plan}", "x=cat {problem}", "x={plan}"])
def test_a_command_without_a_name_or_without_both_files_is_refused(text):
    with pytest.raises(ValueError, match="is not NAME=COMMAND"):
        Other.of(text)


def test_a_cost_below_the_bound_and_a_bound_above_a_legal_cost_are_called_false():
    legal = Row(way="honest", cost_cents=10_100, bound_cents=10_000, legal=True)
    cheap = Row(way="cheap", cost_cents=9_000, known="STATED")
    proud = Row(way="proud", cost_cents=12_000, bound_cents=11_000, legal=True)
    group = Group(day="S-1", jobs=20, bound_cents=10_000, rows=(legal, cheap, proud))
    honest, false, wrong = group.lines()
    assert honest.endswith("replayed")
    assert false.endswith("STATED; no legal plan costs so little")
    assert wrong.endswith("replayed; its bound is false, a legal plan costs less")
    assert Group.from_text(group.to_text()) == group


def test_the_table_holds_every_way_of_a_day_in_one_group(tmp_path, monkeypatch, capsys):
    arguments = ["compare", "S", "--seeds", "1", "--figure", f"{tmp_path}/growth.svg"]
    monkeypatch.setattr(sys, "argv", [*arguments, "--beside", "none=/no/planner {problem} {plan}"])
    monkeypatch.chdir(Path(__file__).parents[3])
    compare.main()
    header, *lines = capsys.readouterr().out.splitlines()
    ways = [line[6:18].strip() for line in lines[:4]]
    assert ways == ["plain rule", "first plan", "whole search", "none"]
    assert header.split()[:5] == ["day", "way", "cost", "bound", "o/oo"]
    assert [line[:5].strip() for line in lines[:4]] == ["S-1", "", "", ""]
    plain, first, whole = (float(line[18:27]) for line in lines[:3])
    assert plain > first >= whole
    assert (tmp_path / "growth.svg").read_text(encoding="utf-8").startswith("<svg")
