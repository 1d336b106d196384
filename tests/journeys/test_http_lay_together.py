"""What lay in one body is mixed, wherever each of it goes, until the office says otherwise."""

import pytest

from tests.crews import another_crew, drops
from tests.journeys.test_http_cleaner import with_role
from tests.journeys.test_http_refused_for_cause import WHY, takes_back
from tests.loading import Loading
from tests.outages import lots


class Mixed(Loading):
    """A yard whose vehicle has clean grass aboard, and on it grass of which nobody knows."""

    def __init__(self):
        super().__init__()
        self.other = another_crew(self)["vehicle_id"]
        self.clean = self.mow(self.lawn("Clean"), at="13:20")
        self.bad = self.mow(self.lawn("Bad"), at="13:30", treatment_history="unknown")
        self.world.clock.move(minutes=30)
        self.place = {
            "destination_kind": "hold_bay",
            "destination_id": self.ids["hold-bays"],
        }

    def status(self, job):
        return self.client.get(f"/jobs/{job}").json["status"]

    def to_bed(self, *jobs, status=409, **fields):
        bed = {"destination_kind": "bed", "destination_id": self.ids["beds"], **fields}
        parts = [{"job_id": job} for job in jobs]
        return self.say("tipped", **bed, parts=parts, status=status)


@pytest.fixture
def yard():
    return Mixed()


@pytest.mark.parametrize("moved", ["clean", "bad"])
@pytest.mark.parametrize("how", ["given", "tipped"])
def test_who_takes_one_lot_out_of_a_body_leaves_none_of_it_clean(yard, how, moved):
    part = {"job_id": getattr(yard, moved)}
    target = {"to_vehicle_id": yard.other} if how == "given" else yard.place
    yard.say(how, **target, parts=[part])
    assert (yard.status(yard.clean), yard.status(yard.bad)) == ("unknown", "unknown")
    told = lots(yard.routing())[yard.clean]
    (word,) = [one for one in told["findings"] if one["code"] == "lay_in_one_body"]
    bad = yard.client.get(f"/jobs/{yard.bad}").json["lot_code"]
    assert word["facts"]["lay_with"] == bad
    to_bed = [one for one in drops(yard.routing()) if one["destination_kind"] == "bed"]
    assert not any(told["lot_code"] in drop["lot_codes"] for drop in to_bed)
    if moved == "bad":
        assert yard.to_bed(yard.clean)["code"] == "not_for_this_place"
    yard.checked()


def test_what_is_loaded_out_of_a_bay_on_clean_grass_leaves_it_mixed(yard):
    yard.say("tipped", **yard.place)
    yard.routing()
    fresh = yard.mow(yard.lawn("Fresh"), at="14:00")
    (entry,) = [one for one in yard.entries() if one["status"] == "unknown"]
    yard.world.clock.move(minutes=5)
    yard.say("loaded", hold_entry_id=entry["id"])
    yard.world.clock.move(minutes=5)
    yard.say("given", to_vehicle_id=yard.other, parts=[{"job_id": fresh}])
    assert yard.status(fresh) == "unknown"


def test_the_office_says_with_a_reason_that_they_were_kept_apart(yard):
    yard.say("tipped", **yard.place, parts=[{"job_id": yard.bad}])
    where = f"depot_id={yard.ids['depots']}"
    listed = yard.client.get(f"/days/2026-05-24/decisions?{where}").json["decisions"]
    (decision,) = [one for one in listed if one["code"] == "lay_in_one_body"]
    assert decision["ways"][0]["href"] == f"/jobs/{yard.clean}/decisions"
    assert "counts as unknown" in decision["sentence"]
    assert takes_back(yard, yard.clean).status_code == 409
    assert takes_back(yard, yard.clean, **WHY).json["status"] == "clean"
    assert lots(yard.routing())[yard.clean]["status"] == "clean"
    yard.to_bed(yard.clean, status=200)


def test_what_was_tipped_before_the_other_came_aboard_was_never_mixed():
    crew = Loading()
    clean = crew.mow(crew.lawn("Clean"), at="13:20")
    crew.say("tipped", destination_kind="bed", destination_id=crew.ids["beds"])
    crew.world.clock.move(minutes=10)
    crew.mow(crew.lawn("Bad"), at="13:40", treatment_history="unknown")
    crew.say("tipped", destination_kind="hold_bay", destination_id=crew.ids["hold-bays"])
    assert crew.client.get(f"/jobs/{clean}").json["status"] == "clean"


@pytest.mark.parametrize("moved", ["clean", "bad"])
def test_who_moves_a_lot_by_hand_is_asked_whether_it_was_forked_over_or_never_there(yard, moved):
    job = getattr(yard, moved)
    path, change = f"/jobs/{job}", {"vehicle_id": yard.other}
    problem = yard.patch(path, change, status=409)
    assert problem["code"] == "forked_over_or_corrected"
    assert "report it as given (POST /reports)" in problem["detail"]
    assert yard.client.get(path).json["vehicle_id"] == yard.ids["vehicles"]
    # A reason in free words may say either of both: what it lay with is not forgotten by one.
    problem = yard.patch(path, change, status=409, reason="Given to the larger vehicle.")
    assert f"{path}/decisions" in problem["detail"]
    never = {"decision": "never_aboard", **change}

    def said(body, **headers):
        return yard.client.post(f"{path}/decisions", json=body, headers=headers)

    assert said(never, **WHY, **with_role(yard, "crew")).status_code == 403
    assert said(never).status_code == 422
    assert said({"decision": "never_aboard"}, **WHY).json["errors"][0]["pointer"] == "/vehicle_id"
    assert said({"decision": "as_recorded", **change}, **WHY).status_code == 422
    # It never was in that body: what is said to have been a slip mixes nothing.
    assert said(never, **WHY).json["vehicle_id"] == yard.other
    assert (yard.status(yard.clean), yard.status(yard.bad)) == ("clean", "unknown")


@pytest.mark.parametrize("moved", ["clean", "bad"])
def test_out_of_a_vehicle_that_broke_down_no_lot_is_moved_without_a_word_either(yard, moved):
    now = yard.world.clock.now().isoformat()
    out = {"vehicle_id": yard.ids["vehicles"], "out_since": now, "reason": "Clutch gone."}
    yard.post("/vehicle-outages", out)
    yard.world.clock.move(minutes=5)
    job = getattr(yard, moved)
    problem = yard.patch(f"/jobs/{job}", {"vehicle_id": yard.other}, status=409)
    assert problem["code"] == "forked_over_or_corrected"
    yard.say("given", to_vehicle_id=yard.other, parts=[{"job_id": job}])
    assert (yard.status(yard.clean), yard.status(yard.bad)) == ("unknown", "unknown")
    there = {"vehicle_id": yard.other if moved == "clean" else yard.ids["vehicles"]}
    assert yard.to_bed(yard.clean, **there)["code"] == "not_for_this_place"


def test_a_lot_that_lies_alone_is_moved_by_hand_without_a_word(yard):
    yard.say("given", to_vehicle_id=yard.other)
    alone = yard.mow(yard.lawn("Alone"), at="12:20")
    third = another_crew(yard)["vehicle_id"]
    yard.patch(f"/jobs/{alone}", {"vehicle_id": third})
    assert yard.client.get(f"/jobs/{alone}").json["vehicle_id"] == third
