"""The demo as somebody meets it: one command, its table, its three requests, its note."""

import json
import shlex
import signal
import subprocess
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest
import requests

from service.demo.summary import rows_of
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener
from tests.effort import LOST_AFTER_S, tried
from tests.journeys.demo_process import demo_environment

TOP = Path(__file__).parents[2]
COMMAND = "import sys; from service.cli import main; sys.exit(main())"
# An ordinary day, a Sunday on which clocks go forward, New Year's Day.
DAYS = ("2026-05-20", "2026-03-29", "2027-01-01")


def demo(*arguments: object, **more) -> subprocess.Popen:
    words = [sys.executable, "-c", COMMAND, "demo", *map(str, arguments)]
    return subprocess.Popen(
        words,
        cwd=TOP,
        env=demo_environment(),
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        **more,
    )


@dataclass
class Made:
    """What one run of the demo printed and kept."""

    folder: Path
    day: date
    out: str

    def routing(self):
        with self.records() as (unit, firm_id):
            (depot,) = unit.depots.all(firm_id)
            return unit.day_plans.latest(firm_id, depot.id, self.day).routing

    @contextmanager
    def records(self):
        engine = make_engine(f"sqlite:///{self.folder}/records.sqlite")
        with reading_opener(engine)() as unit:
            (firm,) = unit.firms.all()
            yield unit, firm.id
        engine.dispose()


def make(folder: Path, day: str) -> Made:
    process = demo("--folder", folder, "--day", day, "--no-serve")
    out, said = process.communicate(timeout=LOST_AFTER_S)
    assert (process.returncode, said) == (0, "")
    return Made(folder=folder, day=date.fromisoformat(day), out=out)


@pytest.fixture(scope="module", params=tried(DAYS, 1))
def made(request, tmp_path_factory):
    return make(tmp_path_factory.mktemp("demo") / "records", request.param)


@contextmanager
def served(*arguments: object):
    """Yield the lines that a serving demo prints; it is ended as by Ctrl-C."""
    process = demo(*arguments)
    try:
        lines = []
        for line in process.stdout:
            lines.append(line.rstrip("\n"))
            if line.startswith("Ctrl-C"):
                break
        yield lines
    finally:
        process.send_signal(signal.SIGTERM)
        _, said = process.communicate(timeout=LOST_AFTER_S)
    assert (process.returncode, said) == (0, "")


def ask(line: str) -> requests.Response:
    """Send what a curl line sends."""
    words = shlex.split(line)
    assert words[:2] == ["curl", "-sS"]
    headers, body = {}, None
    rest = iter(words[3:])
    for word in rest:
        if word == "-H":
            name, _, value = next(rest).partition(": ")
            headers[name] = value
        else:
            assert word == "-d"
            body = next(rest)
    return requests.request(
        "GET" if body is None else "POST",
        words[2],
        headers=headers,
        data=body,
        timeout=LOST_AFTER_S,
    )


def curls(printed: str | list[str]) -> list[str]:
    lines = printed.splitlines() if isinstance(printed, str) else printed
    return [line for line in lines if line.startswith("curl ")]


def test_every_outcome_has_its_share_of_the_day(made):
    rows = rows_of(made.routing())
    assert all(rows[kind].mass_kg > 100 for kind in ("bed", "compost_site"))
    assert all(rows[kind].mass_kg > 10 for kind in ("hold_bay", "leave_on_lawn"))
    assert rows["unplaced"].mass_kg == 0
    assert made.routing()["unplaced"] == []


def test_only_clean_clippings_go_to_beds_and_no_unknown_ones_to_sites(made):
    rows = rows_of(made.routing())
    assert set(rows["bed"].reasons) == {"clean"}
    assert set(rows["compost_site"].reasons) <= {"clean", "weedy", "diseased"}
    assert {"unknown", "littered"} <= set(rows["hold_bay"].reasons)


def test_a_label_keeps_clippings_on_their_lawn(made):
    codes = {
        lot["advice"]["code"] for lot in made.routing()["lots"] if lot["outcome"] == "leave_on_lawn"
    }
    assert {"label_leave_on_lawn", "leave_on_lawn"} <= codes


def test_at_eleven_some_jobs_are_mown_and_loads_delivered_and_others_are_not(made):
    routing = made.routing()
    jobs = [lot["state"] for lot in routing["lots"]]
    drops = [stop for v in routing["vehicles"] for stop in v["stops"] if stop["kind"] == "drop"]
    assert len(jobs) >= 60
    assert min(jobs.count("mown"), jobs.count("planned")) >= 15
    assert min(sum(d["done"] for d in drops), sum(not d["done"] for d in drops)) >= 5


def test_beds_refuse_for_many_reasons(made):
    codes = {
        code
        for lot in made.routing()["lots"]
        for code in (lot["elsewhere"] or {}).get("refused_by_code", {})
    }
    assert codes >= {
        "bed_resting",
        "consent_expired",
        "drainage_not_fit",
        "ground_not_fit",
        "legal_basis_expired",
        "lot_littered",
        "lot_unknown",
        "no_consent",
        "no_legal_basis",
        "not_grown_here",
        "too_near_water",
        "treatment_wait",
        "treatment_never",
        "treatment_unknown",
        "water_distance_unknown",
    }


def test_one_note_is_answered_one_corrected_and_one_waits(made):
    with made.records() as (unit, firm_id):
        notes = unit.delivery_notes.all(firm_id)
    told = sorted(
        (note.number[-1], note.note_version, note.acknowledgement is not None) for note in notes
    )
    assert told == [("1", 1, True), ("2", 1, False), ("2", 2, False), ("3", 1, False)]


def test_deliveries_of_other_days_stand_on_the_accounts_of_beds(made):
    with made.records() as (unit, firm_id):
        loads = unit.loads.all(firm_id)
    earlier = [load for load in loads if load.working_day < made.day]
    assert len({load.destination_id for load in earlier}) >= 3
    assert all(load.done_at is not None for load in earlier)


def test_nobody_is_sent_to_the_site_that_shuts_early_after_its_last_load(made):
    late = [
        stop
        for vehicle in made.routing()["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop"
        and stop["destination"] == "Aerodrome Windrows"
        and stop["at"][11:16] > "12:45"
    ]
    assert late == []


def test_every_role_has_a_key(made):
    printed = {line.split()[0]: line.split()[1] for line in made.out.splitlines() if " cd_" in line}
    assert {"owner", "crew", "integrator"} <= printed.keys()
    assert len(set(printed.values())) == len(printed)


def test_a_second_run_tells_the_same_story_with_another_key(made, tmp_path):
    runs = [made, make(tmp_path / "again", made.day.isoformat())]
    assert runs[0].routing() == runs[1].routing()
    keys = {
        line.rpartition("Bearer ")[2].partition("'")[0]
        for run in runs
        for line in curls(run.out)[1:]
    }
    assert len(keys) == len(runs)


def test_by_four_a_load_was_sent_away_and_a_vehicle_broke_down(tmp_path):
    process = demo("--folder", tmp_path, "--day", DAYS[0], "--no-serve", "--at", "16:00")
    out, said = process.communicate(timeout=LOST_AFTER_S)
    assert (process.returncode, said) == (0, "")
    assert "as planned at 16:00" in out
    assert "sent a load away at" in out
    assert "; it was brought elsewhere since." in out
    assert "broke down at 15:00" in out


@pytest.fixture(scope="module")
def visited(tmp_path_factory):
    """Return what a demo of today printed and answered, in the order a visitor asks."""
    folder = tmp_path_factory.mktemp("served") / "demo"
    with served("--folder", folder) as lines:
        post, read, fetch = curls(lines)
        pages = [line.strip() for line in lines if line.startswith("  http")]
        return {
            "folder": folder,
            "before": ask(read),
            "job": ask(post),
            "after": ask(read),
            "note": ask(fetch),
            "pages": [requests.get(page, timeout=LOST_AFTER_S) for page in pages],
        }


def test_a_posted_job_is_answered_with_what_it_is_thought_to_be(visited):
    assert visited["job"].status_code == 201
    job = visited["job"].json()
    assert job["status"] == "clean"
    assert job["estimate"]["mass_kg"]["low"] < job["estimate"]["mass_kg"]["high"]


def test_a_posted_job_changes_the_days_routing_and_not_what_is_done(visited):
    job = visited["job"].json()
    before, after = visited["before"].json(), visited["after"].json()
    lots = {lot["job_id"]: lot for lot in after["routing"]["lots"]}
    assert job["id"] not in {lot["job_id"] for lot in before["routing"]["lots"]}
    assert lots[job["id"]]["goes_to"]
    assert after["sequence"] == before["sequence"] + 1
    assert done_drops(before) == done_drops(after) != []


def test_the_note_of_the_third_request_waits_for_its_clients_answer(visited):
    assert visited["note"].status_code == 200
    note = visited["note"].json()
    assert note["acknowledgement"] is None
    assert note["note"]["facts"]["sender"]["name"] == "Quadlethorpe Grounds Care"


def test_everything_to_open_opens_without_a_key(visited):
    assert {page.status_code for page in visited["pages"]} == {200}
    kinds = [page.headers["Content-Type"].partition(";")[0] for page in visited["pages"]]
    # A link to join for each of four people, the contract, a note, and its paper.
    assert kinds == [*["text/html"] * 6, "application/pdf"]


def test_a_kept_demo_goes_on_where_it_stopped(visited):
    with served("--folder", visited["folder"], "--keep") as lines:
        again = ask(curls(lines)[1])
        job = ask(curls(lines)[0])
    assert again.json()["id"] == visited["after"].json()["id"]
    # The forgotten lawn again, with a key and an id of its own.
    assert job.status_code == 201
    assert job.json()["id"] != visited["job"].json()["id"]


def done_drops(plan):
    return [
        stop["load_id"]
        for vehicle in plan["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and stop["done"]
    ]


def test_keeping_where_nothing_is_kept_is_refused_with_a_sentence(tmp_path):
    process = demo("--folder", tmp_path / "demo", "--keep", "--no-serve")
    _, said = process.communicate(timeout=LOST_AFTER_S)
    assert process.returncode == 1
    assert "--keep" in said
    assert "Traceback" not in said


def test_the_readmes_commands_are_those_of_the_project():
    lines = (TOP / "README.md").read_text().splitlines()
    starts = [line for line in lines if line.startswith("python3 -m venv .venv && ")]
    assert len(starts) == 2
    assert starts[0].endswith("&& .venv/bin/clipping-dispatch demo")
    assert starts[1].endswith("&& .venv/bin/pytest -q")
    assert json.dumps(starts).count("--no-deps -e .") == 2
