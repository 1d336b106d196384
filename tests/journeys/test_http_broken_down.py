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


NEXT_DAY = "2026-05-25"


class NextMorning(BrokenDown):
    """The morning after: nobody said that the vehicle is back, and a lawn is planned with it."""

    def __init__(self):
        super().__init__()
        self.world.clock.move(minutes=(18 + 24 - 12) * 60 - 60)
        fields = {"planned_at": f"{NEXT_DAY}T11:00:00+01:00"}
        self.next_job = self.plan_to_mow(self.lawn("Next"), **fields)

    def own(self, day=NEXT_DAY):
        plan = self.routing(day)
        return next(
            one for one in plan["routing"]["vehicles"] if one["vehicle_id"] == self.ids["vehicles"]
        )


def test_the_next_morning_asks_whether_it_is_back_and_plans_without_it():
    yard = NextMorning()
    told = yard.decision("vehicle_still_out", NEXT_DAY)
    assert "Until somebody says so it is planned with nothing." in told["sentence"]
    assert "Gearbox" in told["sentence"]
    assert told["ways"][0]["href"] == f"/vehicle-outages/{yard.outage['id']}"
    assert yard.own()["out"]["stands"] is True
    assert not [stop for stop in yard.own()["stops"] if not stop["done"]]


def test_who_says_that_it_is_back_has_it_planned_again():
    yard = NextMorning()
    back = {"back_at": yard.world.clock.now().isoformat()}
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", back)
    assert "vehicle_still_out" not in [one["code"] for one in yard.decisions(NEXT_DAY)]
    assert yard.own()["out"] is None
    assert [stop for stop in yard.own()["stops"] if not stop["done"]]


def test_a_garage_that_names_an_hour_of_the_next_day_is_waited_for():
    yard = NextMorning()
    back = {"back_at": f"{NEXT_DAY}T13:00:00+01:00"}
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", back)
    ahead = [stop for stop in yard.own()["stops"] if not stop["done"]]
    assert ahead
    assert min(stop["at"] for stop in ahead) >= f"{NEXT_DAY}T13:00"
    assert "vehicle_still_out" not in [one["code"] for one in yard.decisions(NEXT_DAY)]


@pytest.mark.parametrize(
    "back_at", [None, "2026-05-26T09:00:00+01:00", "2026-06-12T09:00:00+01:00"]
)
def test_a_crew_says_so_by_its_report_of_the_next_day_whatever_the_garage_named(back_at):
    yard = NextMorning()
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", {"back_at": back_at})
    assert yard.own()["out"] is not None
    now = yard.world.clock.now().isoformat()
    row = {"id": "5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b12", "kind": "vehicle_back", "at": now}
    said = {"device": "phone-1", "sent_at": now, "vehicle_id": yard.ids["vehicles"]}
    answer = yard.client.post("/reports", json=said | {"reports": [row]})
    (kept,) = answer.json["reports"]
    assert kept["sentence"] == "The office knows that it works again."
    assert yard.own()["out"] is None
    undo = {"id": "5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b14", "kind": "undo", "at": now}
    said |= {"reports": [undo | {"undoes": row["id"]}]}
    (undone,) = yard.client.post("/reports", json=said).json["reports"]
    assert undone["status"] == 200, undone
    assert yard.own()["out"]["back_at"] == back_at


def test_who_is_out_and_back_while_a_garage_has_named_a_day_is_not_out_again_days_later():
    yard = NextMorning()
    back = {"back_at": "2026-06-12T09:00:00+01:00"}
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", back)
    for number, kind in enumerate(("vehicle_out", "vehicle_back")):
        yard.world.clock.move(minutes=10)
        now = yard.world.clock.now().isoformat()
        row = {"id": f"5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b1{number}", "kind": kind, "at": now}
        said = {"device": "phone-1", "sent_at": now, "vehicle_id": yard.ids["vehicles"]}
        row |= {"reason": "Gearbox."} if kind == "vehicle_out" else {}
        (kept,) = yard.client.post("/reports", json=said | {"reports": [row]}).json["reports"]
        assert kept["status"] == 200, kept
    assert yard.own()["out"] is None
    yard.world.clock.move(minutes=12 * 24 * 60)
    yard.plan_to_mow(yard.lawn("June"), planned_at="2026-06-06T11:00:00+01:00")
    assert yard.own("2026-06-06")["out"] is None


def test_what_is_said_to_be_out_on_a_later_day_too_is_told_where_they_meet():
    yard = NextMorning()
    back = {"back_at": "2026-06-12T09:00:00+01:00"}
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", back)
    said = {**yard.said, "out_since": yard.world.clock.now().isoformat()}
    answer = yard.client.post("/vehicle-outages", json=said)
    assert answer.status_code == 422, answer.text
    (fault,) = answer.json["errors"]
    assert (fault["pointer"], fault["code"]) == ("/out_since", "already_out")
    assert "24 May 2026" in fault["detail"]


def test_a_vehicle_that_mowed_or_tipped_since_is_back_by_what_it_did():
    yard = NextMorning()
    yard.mow(yard.lawn("Since"), day=NEXT_DAY, at="08:30")
    assert "vehicle_still_out" not in [one["code"] for one in yard.decisions(NEXT_DAY)]
    assert yard.own()["out"] is None


def test_a_garage_that_names_a_day_weeks_off_is_believed_until_then():
    yard = NextMorning()
    back = {"back_at": "2026-06-12T09:00:00+01:00"}
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", back)
    yard.world.clock.move(minutes=11 * 24 * 60 - 12 * 60)
    yard.plan_to_mow(yard.lawn("June"), planned_at="2026-06-05T11:00:00+01:00")
    own = yard.own("2026-06-05")
    assert own["out"]["stands"] is True
    assert not [stop for stop in own["stops"] if not stop["done"]]
    yard.world.clock.move(minutes=7 * 24 * 60)
    yard.plan_to_mow(yard.lawn("Back"), planned_at="2026-06-12T11:00:00+01:00")
    ahead = [stop for stop in yard.own("2026-06-12")["stops"] if not stop["done"]]
    assert ahead
    assert min(stop["at"] for stop in ahead) >= "2026-06-12T09:00"


def test_a_vehicle_that_nobody_said_is_back_is_asked_about_for_as_long_as_it_takes():
    yard = NextMorning()
    yard.world.clock.move(minutes=40 * 24 * 60)
    day = "2026-07-04"
    yard.plan_to_mow(yard.lawn("July"), planned_at=f"{day}T11:00:00+01:00")
    assert is_asked(yard, day)
    own = yard.own(day)
    assert own["out"]["stands"] is True
    assert not [stop for stop in own["stops"] if not stop["done"]]
    now = yard.world.clock.now().isoformat()
    row = {"id": "5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b15", "kind": "vehicle_back", "at": now}
    said = {"device": "phone-1", "sent_at": now, "vehicle_id": yard.ids["vehicles"]}
    yard.client.post("/reports", json=said | {"reports": [row]})
    assert yard.own(day)["out"] is None


def test_a_vehicle_that_is_back_after_its_shift_is_planned_with_nothing_till_it_is_back():
    yard = Yard()
    yard.plan_to_mow(yard.lawn("Front"), at="15:00")
    out = {"vehicle_id": yard.ids["vehicles"], "reason": "Gearbox."}
    out |= {"out_since": f"{DAY}T13:00:00+01:00", "back_at": f"{DAY}T21:00:00+01:00"}
    yard.post("/vehicle-outages", out)
    (own,) = yard.routing()["routing"]["vehicles"]
    assert [stop for stop in own["stops"] if not stop["done"]] == []
    assert own["out"]["stands"] is True
    (told,) = warnings(yard.routing(), "nobody_takes_over")
    assert "from 13:00 to 21:00" in told["why"]
    yard.world.clock.move(minutes=8 * 60 + 1)
    (own,) = yard.routing()["routing"]["vehicles"]
    assert own["out"] is None


def test_a_vehicle_that_is_out_on_a_day_without_work_is_told_all_the_same():
    yard = Yard()
    out = {"vehicle_id": yard.ids["vehicles"], "reason": "Gearbox."}
    yard.post("/vehicle-outages", out | {"out_since": yard.world.clock.now().isoformat()})
    (told,) = [
        one
        for one in yard.client.get(f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}").json[
            "decisions"
        ]
        if one["code"] == "vehicle_out"
    ]
    assert "Gearbox" in told["sentence"]


def own_today(yard):
    answer = yard.client.get(f"/vehicles/{yard.ids['vehicles']}/today")
    assert answer.status_code == 200, answer.text
    return answer.json


def without_work(*, is_planned):
    """Return the morning after of a vehicle with nothing to do or aboard; another may have."""
    yard = Yard()
    idle = another_crew(yard)
    said = {"vehicle_id": yard.ids["vehicles"], "reason": "Gearbox."}
    yard.outage = yard.post(
        "/vehicle-outages", said | {"out_since": yard.world.clock.now().isoformat()}
    )
    yard.world.clock.move(minutes=24 * 60)
    if is_planned:
        yard.plan_to_mow(yard.lawn("Other"), planned_at=f"{NEXT_DAY}T16:00:00+01:00", **idle)
        yard.routing(NEXT_DAY)
    return yard


@pytest.mark.parametrize("is_planned", [True, False])
def test_the_crew_of_a_vehicle_without_work_reads_the_next_morning_that_it_is_out(is_planned):
    yard = without_work(is_planned=is_planned)
    told = own_today(yard)
    assert (told["plan_id"] is not None) is is_planned
    assert told["out"] == {
        "outage_id": yard.outage["id"],
        "out_since": f"{DAY}T13:00:00+01:00",
        "back_at": None,
        "reason": "Gearbox.",
        "stands": True,
    }
    back = {"back_at": yard.world.clock.now().isoformat()}
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", back)
    assert own_today(yard)["out"] is None


DAY_AFTER = "2026-05-26"


def is_asked(yard, day=DAY_AFTER):
    return "vehicle_still_out" in [one["code"] for one in yard.decisions(day)]


def test_what_it_mowed_the_day_before_is_not_forgotten_by_the_next_morning():
    yard = NextMorning()
    yard.mow(yard.lawn("Since"), day=NEXT_DAY, at="08:30", clippings="left")
    yard.world.clock.move(minutes=12 * 60)
    yard.plan_to_mow(yard.lawn("Third"), planned_at=f"{DAY_AFTER}T11:00:00+01:00")
    assert not is_asked(yard)
    own = yard.own(DAY_AFTER)
    assert own["out"] is None
    assert [stop for stop in own["stops"] if not stop["done"]]


def test_who_mowed_with_it_later_on_the_day_it_went_out_is_not_asked_the_next_morning():
    yard = NextMorning()
    yard.mow(yard.lawn("Late"), at="16:00")
    assert not is_asked(yard, NEXT_DAY)
    assert yard.own()["out"] is None


def test_what_it_tipped_since_is_not_forgotten_two_mornings_later():
    yard = NextMorning()
    now = yard.world.clock.now().isoformat()
    tip = {"id": "5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b13", "kind": "tipped", "at": now}
    tip |= {"destination_kind": "bed", "destination_id": yard.ids["beds"]}
    tip |= {"parts": [{"job_id": yard.job}], "reason": "It is there already."}
    said = {"device": "phone-1", "sent_at": now, "vehicle_id": yard.ids["vehicles"]}
    (kept,) = yard.client.post("/reports", json=said | {"reports": [tip]}).json["reports"]
    assert kept["status"] == 200, kept
    yard.world.clock.move(minutes=12 * 60)
    yard.plan_to_mow(yard.lawn("Third"), planned_at=f"{DAY_AFTER}T11:00:00+01:00")
    assert not is_asked(yard)


def test_what_it_cut_before_it_broke_down_and_was_told_of_late_is_no_work_since():
    yard = NextMorning()
    yard.mow(yard.lawn("Before"), at="12:30")
    assert is_asked(yard, NEXT_DAY)


def test_a_vehicle_that_is_to_be_back_another_day_is_out_until_then_and_not_asked_about():
    yard = NextMorning()
    back = {"back_at": "2026-05-27T09:00:00+01:00"}
    yard.patch(f"/vehicle-outages/{yard.outage['id']}", back)
    assert yard.own()["out"]["stands"] is True
    assert not [stop for stop in yard.own()["stops"] if not stop["done"]]
    assert "vehicle_still_out" not in [one["code"] for one in yard.decisions(NEXT_DAY)]
