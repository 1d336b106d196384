"""The solve command: exit codes, what is written, and that both files keep to their schemas."""

from __future__ import annotations

import io
import json
from pathlib import Path

import jsonschema
import pytest

from service.planning.command import solve_command
from tests.bench.planning.days import day
from tests.unit.planning.plain_days import bay, bed, document, lot

SCHEMAS = Path(__file__).parents[3] / "openapi"


def schema(name: str) -> jsonschema.Draft202012Validator:
    document = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(document)
    return jsonschema.Draft202012Validator(document)


@pytest.fixture
def problem_file(tmp_path: Path) -> Path:
    path = tmp_path / "problem.json"
    path.write_text(json.dumps(day("S", 1)), encoding="utf-8")
    return path


def run(*arguments: object) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = solve_command([str(argument) for argument in arguments], out=out, err=err)
    return code, out.getvalue(), err.getvalue()


def test_a_generated_day_keeps_to_the_problem_schema():
    schema("problem").validate(day("S", 1))


@pytest.mark.parametrize("options", [[], ["--first"], ["--gap", "50"], ["--seconds", "0.5"]])
def test_the_written_plan_keeps_to_the_plan_schema(problem_file, tmp_path, options):
    target = tmp_path / "plan.json"
    code, out, err = run(problem_file, "-o", target, *options)
    assert code == 0
    assert out == ""
    assert "cents" in err
    schema("plan").validate(json.loads(target.read_text(encoding="utf-8")))


def test_without_a_file_name_the_plan_goes_to_standard_output_and_progress_does_not(problem_file):
    code, out, err = run(problem_file, "--first")
    assert code == 0
    assert json.loads(out)["problem"] == "S-1"
    assert "first plan" in err


@pytest.mark.parametrize("options", [[], ["--first"]])
def test_a_lock_after_a_job_that_loads_nothing_is_named_and_nothing_is_written(
    problem_file, tmp_path, options
):
    lock = {"after_job": "J1", "destination": "B"}
    day_of_nothing = document([lot("J1", 0, volume_l=0)], [bed(100), bay(100)], [lock])
    problem_file.write_text(json.dumps(day_of_nothing), encoding="utf-8")
    target = tmp_path / "plan.json"
    code, _, err = run(problem_file, "-o", target, *options)
    assert (code, target.exists()) == (2, False)
    assert "/vehicles/0/locked" in err
    assert "cannot keep its locked tips" in err


def test_a_contradictory_problem_names_every_fault_and_writes_nothing(problem_file, tmp_path):
    document = day("S", 1)
    document["jobs"][0]["mass_kg"] = -1
    document["jobs"][1]["status"] = "muddy"
    document["vehicles"][0]["payload_kg"] = "1000"
    document["vehicles"][1]["jobs"].append("J999")
    document["surprise"] = 1
    problem_file.write_text(json.dumps(document), encoding="utf-8")
    target = tmp_path / "plan.json"
    code, out, err = run(problem_file, "-o", target)
    assert code == 2
    assert out == ""
    assert not target.exists()
    for pointer in (
        "/jobs/0/mass_kg",
        "/jobs/1/status",
        "/vehicles/0/payload_kg",
        "/vehicles/1/jobs/",
        "/surprise",
    ):
        assert pointer in err


@pytest.mark.parametrize(
    "text", ["{", "[]", "NaN", "3", '{"format": NaN}', "", "[" * 100_000, '{"a": 1, "a": 2}']
)
def test_what_is_no_problem_at_all_is_refused(problem_file, text):
    problem_file.write_text(text, encoding="utf-8")
    code, out, err = run(problem_file)
    assert (code, out) == (2, "")
    assert err


def test_a_missing_file_is_refused(tmp_path):
    code, _, err = run(tmp_path / "nothing.json")
    assert code == 2
    assert "nothing.json" in err


def test_a_key_that_stands_twice_is_named(problem_file):
    text = json.dumps(day("S", 1)).replace('"jobs": [', '"jobs": [], "jobs": [', 1)
    problem_file.write_text(text, encoding="utf-8")
    code, out, err = run(problem_file)
    assert (code, out) == (2, "")
    assert "'jobs'" in err


def test_every_vehicle_whose_locked_tips_cannot_be_is_named_by_its_path(problem_file, tmp_path):
    document = day("S", 1)
    for number in (0, 2):
        vehicle = document["vehicles"][number]
        job = vehicle["jobs"][0]
        vehicle["locked"] = [{"destination": "B0", "after_job": job, "mass_kg": 90_000}]
    possible = document["vehicles"][1]
    possible["locked"] = [{"destination": "H0", "after_job": possible["jobs"][-1]}]
    problem_file.write_text(json.dumps(document), encoding="utf-8")
    target = tmp_path / "plan.json"
    code, out, err = run(problem_file, "-o", target)
    assert (code, out) == (2, "")
    assert not target.exists()
    assert "/vehicles/0/locked" in err
    assert "/vehicles/1/locked" not in err
    assert "/vehicles/2/locked" in err


@pytest.mark.parametrize("option", ["-o", "--propose-order"])
@pytest.mark.parametrize("name", ["no/such/folder.json", "."])
def test_a_file_that_cannot_be_written_is_refused_before_anything_is_planned(
    problem_file, tmp_path, option, name
):
    code, out, err = run(problem_file, "--first", option, tmp_path / name)
    assert (code, out) == (2, "")
    assert str(tmp_path / name) in err
    assert "first plan" not in err


@pytest.mark.parametrize(
    "options", [["--seconds", "nan"], ["--seconds", "-1"], ["--gap", "-0.5"], ["--gap", "inf"]]
)
def test_a_limit_that_is_none_is_refused(problem_file, options, capsys):
    with pytest.raises(SystemExit) as end:
        run(problem_file, *options)
    assert end.value.code == 2
    assert options[0] in capsys.readouterr().err


def test_a_first_plan_is_told_without_a_gap(problem_file):
    _, _, err = run(problem_file, "--first")
    assert "permille" not in err
    assert "no bound" in err


def test_a_first_plan_pretends_no_bound_in_its_file(problem_file, tmp_path):
    target = tmp_path / "plan.json"
    run(problem_file, "-o", target, "--first")
    plan = json.loads(target.read_text(encoding="utf-8"))
    assert (plan["bound_proven"], plan["bound_scope"]) == (False, "none")
    assert "no bound was sought" in plan["bound_note"]
    bare = plan["cost_cents"]["total"] - plan["disposal_cents"]
    assert plan["bound_cents"] == bare > 0
    assert plan["gap_permille"] == 1000


def test_orders_that_the_clock_cut_are_told_as_that(problem_file, tmp_path):
    plan, ordered = tmp_path / "plan.json", tmp_path / "ordered.json"
    code, _, err = run(problem_file, "-o", plan, "--propose-order", ordered, "--seconds", "0")
    assert code == 0
    assert "ended by clock" in err
    assert "another machine may find others" in err
    work = json.loads(plan.read_text(encoding="utf-8"))["work"]
    assert (work["orders"], work["orders_ended_by"]) == (0, "clock")
    asked = json.loads(problem_file.read_text(encoding="utf-8"))
    assert json.loads(ordered.read_text(encoding="utf-8")) == asked


def test_a_plan_never_takes_the_place_of_its_problem_or_of_the_orders(problem_file, tmp_path):
    asked = problem_file.read_text(encoding="utf-8")
    code, out, _ = run(problem_file, "--first", "-o", problem_file.parent / "." / "problem.json")
    assert (code, out) == (2, "")
    assert problem_file.read_text(encoding="utf-8") == asked
    both = tmp_path / "both.json"
    code, _, err = run(problem_file, "--first", "-o", both, "--propose-order", both)
    assert code == 2
    assert "both.json" in err
    assert not both.exists()
