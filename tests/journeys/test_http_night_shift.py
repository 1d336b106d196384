"""A shift that goes on after midnight: mown at half past eleven, tipped at twenty to one."""

from datetime import datetime

import pytest

from tests.crews import drops
from tests.devices import CLEAN, Device
from tests.outages import warnings

EVENING, NIGHT = "2026-05-24", "2026-05-25"


class NightCrew(Device):
    """A crew that mows late, with a clock that is set."""

    def to(self, at):
        left = datetime.fromisoformat(at) - self.world.clock.now()
        self.world.clock.move(seconds=left.total_seconds())

    def says(self, kind, at, **fields):
        return {**self.what(kind, "12:00", **fields), "at": at}

    def routing(self, day):
        answer = self.client.get(f"/days/{day}/routing?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json

    def decisions(self, day):
        asked = f"/days/{day}/decisions?depot_id={self.ids['depots']}"
        return {one["code"] for one in self.client.get(asked).json["decisions"]}


@pytest.fixture
def crew():
    crew = NightCrew()
    crew.to(f"{EVENING}T23:35:00+01:00")
    mown = crew.says("mown", f"{EVENING}T23:30:00+01:00", lawn_id=crew.lawn("Late"), **CLEAN)
    (row,) = crew.kept(mown)
    crew.job = row["job_id"]
    crew.to(f"{NIGHT}T00:20:00+01:00")
    return crew


def test_after_midnight_its_tip_is_planned_for_now_and_nobody_is_sent_for_it(crew):
    plan = crew.routing(NIGHT)
    assert warnings(plan, "aboard_overnight") == []
    assert "aboard_overnight" not in crew.decisions(NIGHT)
    (drop,) = drops(plan)
    at = datetime.fromisoformat(drop["at"])
    assert at < datetime.fromisoformat(f"{NIGHT}T01:20:00+01:00")


def test_the_cut_is_of_the_day_before_and_the_tip_of_the_new_one(crew):
    crew.to(f"{NIGHT}T00:45:00+01:00")
    bed = {"destination_kind": "bed", "destination_id": crew.ids["beds"]}
    (row,) = crew.kept(crew.says("tipped", f"{NIGHT}T00:40:00+01:00", **bed))
    load = crew.load(row["load_id"])
    assert (load["working_day"], load["state"]) == (NIGHT, "delivered")
    assert load["parts"][0]["job_id"] == crew.job
    asked = f"depot_id={crew.ids['depots']}"
    kept = {
        day: crew.client.get(f"/days/{day}/mass-balance?{asked}").json["balances"]
        for day in (EVENING, NIGHT)
    }
    aboard = {
        day: sum(one["mass_kg"]["likely"] for one in rows if one["place_kind"] == "vehicle")
        for day, rows in kept.items()
    }
    assert aboard[EVENING] > 0
    assert aboard[EVENING] + aboard[NIGHT] == pytest.approx(0)
    assert "aboard_overnight" not in crew.decisions(NIGHT)


def test_what_nobody_tipped_by_the_morning_is_overnight_grass(crew):
    crew.to(f"{NIGHT}T08:00:00+01:00")
    (warning,) = warnings(crew.routing(NIGHT), "aboard_overnight")
    assert warning["since"] == EVENING


def test_a_shift_over_midnight_is_refused_with_the_way_to_record_it(crew):
    over = {"shift_starts": "18:00", "shift_ends": "03:00"}
    problem = crew.patch(f"/depots/{crew.ids['depots']}", over, status=422)
    (fault,) = problem["errors"]
    assert fault["pointer"] == "/shift_ends"
    assert "23:59" in fault["detail"]
