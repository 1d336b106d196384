"""Beside a vehicle that broke down with grass in it stands its crew: it reads what to mind."""

import pytest

from tests.crews import DAY, another_crew
from tests.holds import Yard
from tests.outages import warnings


class BrokenDown(Yard):
    """A yard whose one working vehicle broke down with grass aboard; another has no job."""

    def __init__(self, *, idle=True, language="en"):
        super().__init__()
        self.patch(f"/crews/{self.ids['crews']}", {"language": language})
        self.idle = another_crew(self) if idle else None
        self.job = self.mow(self.lawn("Front"), at="10:00")
        self.ahead = self.plan_to_mow(self.lawn("Back"), at="15:00")
        self.routing()
        self.world.clock.move(minutes=5)
        self.said = {
            "vehicle_id": self.ids["vehicles"],
            "out_since": self.world.clock.now().isoformat(),
            "reason": "Gearbox.",
        }
        self.outage = self.post("/vehicle-outages", self.said)

    def today(self, day=DAY):
        self.routing(day)
        answer = self.client.get(f"/vehicles/{self.ids['vehicles']}/today")
        assert answer.status_code == 200, answer.text
        return answer.json

    def decisions(self, day=DAY):
        answer = self.client.get(f"/days/{day}/decisions?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json["decisions"]

    def decision(self, code, day=DAY):
        (found,) = [one for one in self.decisions(day) if one["code"] == code]
        return found


def test_the_crew_beside_it_reads_first_that_it_heats_and_whom_to_call():
    first = BrokenDown().today()["cautions"][0]
    assert "stand in" in first
    assert "heat up" in first
    assert "fire service" in first
    assert "no traffic can reach you" in first
    assert "never climb into a closed body" in first


@pytest.mark.parametrize(
    ("language", "words"), [("pl", "straż"), ("es", "bomberos"), ("fr", "pompiers")]
)
def test_it_reads_so_in_its_language(language, words):
    assert words in BrokenDown(language=language).today()["cautions"][0]


def test_a_word_to_the_office_is_none_to_the_crew():
    assert "Give the jobs" not in " ".join(BrokenDown().today()["changed"])


def test_the_vehicle_that_has_no_job_is_named_where_nobody_takes_over():
    yard = BrokenDown()
    plan = yard.routing()
    for code in ("vehicle_out", "load_stands", "nobody_takes_over"):
        (told,) = warnings(plan, code)
        assert "AB12 CDE (Second)" in told["why"], code
    ways = [
        way["what"]
        for one in yard.decisions()
        if one["code"] in {"vehicle_out", "load_stands"}
        for way in one["ways"]
    ]
    assert any("AB12 CDE" in what for what in ways)


def test_without_another_vehicle_none_is_named():
    yard = BrokenDown(idle=False)
    (told,) = warnings(yard.routing(), "nobody_takes_over")
    assert "a vehicle that can" in told["why"]
