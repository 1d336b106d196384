"""A body that holds what nobody takes: later lots on top of it go nowhere either."""

import pytest

from tests.crews import NOW, TAINTS, Crew, drops
from tests.journeys.test_http_refused_for_cause import decisions
from tests.outages import lots, warnings


def test_a_customer_whose_only_grass_nobody_takes_has_a_routing(crew):
    tainted = crew.mow_tainted("litter")
    plan = crew.read()
    assert plan["routing"]["destinations"] == []
    assert lots(plan)[tainted]["outcome"] == "unplaced"
    (warning,) = warnings(plan, "nobody_takes_what_is_aboard")
    assert "A hold bay with room, or a site that takes it" in warning["why"]


@pytest.mark.parametrize("taint", TAINTS)
def test_clean_grass_on_top_of_what_nobody_takes_goes_to_no_bed(crew, taint):
    tainted = crew.mow_tainted(taint, at="09:00")
    clean = crew.mow(crew.lawn("Clean"), at="10:00")
    plan = crew.read()
    assert drops(plan) == []
    (warning,) = warnings(plan, "nobody_takes_what_is_aboard")
    codes = {lots(plan)[job]["lot_code"] for job in (tainted, clean)}
    assert set(warning["lot_codes"]) == codes
    assert lots(plan)[tainted]["outcome"] == "unplaced"
    assert lots(plan)[clean]["outcome"] == "unplaced"


@pytest.mark.parametrize("taint", TAINTS)
def test_clean_grass_that_still_stands_is_left_on_its_lawn(crew, taint):
    crew.mow_tainted(taint, at="09:00")
    clean = crew.plan_to_mow(crew.lawn("Clean"))
    plan = crew.read()
    assert drops(plan) == []
    (warning,) = warnings(plan, "leave_on_lawn")
    assert warning["lot_codes"] == [lots(plan)[clean]["lot_code"]]
    assert lots(plan)[clean]["outcome"] == "leave_on_lawn"


def test_a_crew_that_asks_before_mowing_is_told_to_leave_what_the_plan_leaves(crew):
    crew.mow_tainted("litter", at="09:00")
    lawn = crew.lawn("Clean")
    clean = crew.plan_to_mow(lawn)
    path = f"/lawns/{lawn}/pre-mow-check?depot_id={crew.ids['depots']}&treatment_history="
    alone = crew.client.get(f"{path}none_recorded").json
    assert (alone["answer"], alone["without_plan"]) == ("collect", None)
    reason = lots(crew.read())[clean]["needs_attention"]
    told = crew.client.get(f"{path}none_recorded").json
    assert told["plan"]["outcome"] == told["answer"] == "leave_on_lawn"
    assert (told["code"], told["sentence"]) == (reason["code"], reason["sentence"])
    assert told["willing"] != []
    general = told["without_plan"]
    assert {name: alone[name] for name in general} == general
    # Of what nobody said, nothing is asked that would not change it.
    assert "leave_on_lawn" not in {one["answer"] for one in told["undecided"]}
    # Seen otherwise than it was planned, it is for the lawn alone to say.
    weedy = crew.client.get(f"{path}none_recorded&weeds_in_seed=true").json
    assert (weedy["without_plan"], weedy["plan"]["outcome"]) == (None, None)


def test_a_lot_that_nobody_takes_is_left_standing_and_spoils_no_other(crew):
    tainted = crew.plan_to_mow(crew.lawn("Litter"), at="13:30", litter_seen=True)
    clean = crew.plan_to_mow(crew.lawn("Clean"), at="15:00")
    plan = crew.read()
    found = lots(plan)
    assert found[tainted]["outcome"] == "leave_on_lawn"
    assert found[tainted]["advice"]["code"] == "nobody_takes_them"
    (drop,) = drops(plan)
    assert (drop["lot_codes"], drop["status"]) == ([found[clean]["lot_code"]], "clean")
    (way,) = plan["routing"]["vehicles"]
    said = {stop["job_id"]: stop["leave_on_lawn"] for stop in way["stops"] if stop["kind"] == "job"}
    assert "Do not bag them" in said[tainted]
    assert said[clean] is None


def test_taint_that_the_bay_takes_is_tipped_there_before_the_next_lot():
    crew = Crew(bay=True)
    # The bed takes 32 kg and spares the bay 8.00 for a stop of 3.00: 20 paid minutes are more, and
    # both lots would go to the bay as one.
    crew.crews_cost(0)
    tainted = crew.mow_tainted("litter")
    clean = crew.plan_to_mow(crew.lawn("Clean"), area_mowed={"value": 800, "unit": "m2"})
    plan = crew.read()
    codes = {lots(plan)[job]["lot_code"]: job for job in (tainted, clean)}
    first, *others = drops(plan)
    assert first["destination_kind"] == "hold_bay"
    assert [codes[code] for code in first["lot_codes"]] == [tainted]
    assert {drop["status"] for drop in others} == {"clean"}
    assert "bed" in {drop["destination_kind"] for drop in others}


def test_what_the_bay_turned_away_spoils_what_is_loaded_on_it():
    crew = Crew(bay=True)
    crew.mow_tainted("aminopyralid")
    (held,) = drops(crew.read())
    crew.world.clock.move(minutes=5)
    crew.patch(f"/loads/{held['load_id']}", {"state": "refused", "refusal_reason": "It smells."})
    clean = crew.mow(crew.lawn("Clean"), at="13:00")
    plan = crew.read()
    assert [drop["destination_kind"] for drop in drops(plan)] == []
    (warning,) = warnings(plan, "nobody_takes_what_is_aboard")
    assert lots(plan)[clean]["lot_code"] in warning["lot_codes"]


def test_taint_of_yesterday_is_in_the_body_today(crew):
    crew.mow_tainted("aminopyralid", day="2026-05-23", at="16:00")
    clean = crew.mow(crew.lawn("Clean"), at="10:00")
    plan = crew.read()
    assert drops(plan) == []
    assert lots(plan)[clean]["needs_attention"]["code"] == "nobody_takes_what_is_aboard"


def test_a_lot_that_becomes_tainted_once_it_is_aboard_spoils_the_rest(crew):
    first = crew.mow(crew.lawn("First"), at="09:00")
    crew.mow(crew.lawn("Second"), at="10:00")
    assert [drop["destination_kind"] for drop in drops(crew.read())] == ["bed"]
    crew.patch(f"/jobs/{first}", {"litter_seen": True})
    assert drops(crew.read()) == []


def test_taint_whose_size_must_be_a_mistake_is_in_the_body_all_the_same(crew):
    whole = {"value": 450, "unit": "m2"}
    tonnes = {"value": 16, "unit": "t"}
    tainted = crew.mow_tainted("litter", area_mowed=whole, measured_mass=tonnes)
    clean = crew.mow(crew.lawn("Clean"), at="10:00")
    stands = crew.plan_to_mow(crew.lawn("Standing"))
    plan = crew.read()
    assert warnings(plan, "lot_too_large")
    assert drops(plan) == []
    (warning,) = warnings(plan, "nobody_takes_what_is_aboard")
    codes = {lots(plan)[job]["lot_code"] for job in (tainted, clean)}
    assert set(warning["lot_codes"]) == codes
    assert lots(plan)[stands]["outcome"] == "leave_on_lawn"


class TestDelivering:
    """The word of the crew that a load lies on a bed."""

    @pytest.fixture
    def crew(self):
        crew = Crew()
        self.job = crew.mow(crew.lawn("Clean"), at="10:00")
        (self.drop,) = drops(crew.read())
        crew.world.clock.move(minutes=30)
        return crew

    def deliver(self, crew, status, **headers):
        address = f"/loads/{self.drop['load_id']}"
        answer = crew.client.patch(address, json={"state": "delivered"}, headers={**NOW, **headers})
        assert answer.status_code == status, answer.text
        return answer.json

    def test_a_load_that_lies_on_something_tainted_is_not_delivered(self, crew):
        tainted = crew.mow_tainted("litter", at="09:00")
        problem = self.deliver(crew, 409)
        assert problem["type"].endswith("not_for_this_place") or (
            problem["code"] == "not_for_this_place"
        )
        code = crew.client.get(f"/jobs/{tainted}").json["lot_code"]
        assert code in problem["detail"]

    def test_a_load_of_a_lot_that_was_treated_after_all_is_not_delivered(self, crew):
        crew.patch(f"/jobs/{self.job}", {"treatment_history": "unknown"})
        assert "unknown is not clean" in self.deliver(crew, 409)["detail"]
        address = f"/loads/{self.drop['load_id']}"
        crew.patch(address, {"state": "under_way"}, status=409)
        crew.patch(address, {"state": "refused", "refusal_reason": "Not clean."})

    def test_what_lies_there_already_is_kept_as_said_and_called_back(self, crew):
        tainted = crew.mow_tainted("litter", at="09:00")
        kept = self.deliver(crew, 200, **{"Change-Reason": "It was tipped before we knew."})
        assert kept["status"] == "littered"
        assert {part["job_id"]: part["share"] for part in kept["parts"]}[tainted] == 0.0
        (recall,) = decisions(crew, "recall")
        assert recall["destination_id"] == self.drop["destination_id"]

    def test_a_clean_load_is_delivered_while_later_grass_is_tainted(self, crew):
        at = "2026-05-24T10:30:00+01:00"
        crew.mow_tainted("litter", at="11:00")
        address = f"/loads/{self.drop['load_id']}"
        crew.patch(address, {"state": "delivered", "done_at": at})

    def test_no_note_is_issued_for_a_load_that_lies_on_something_tainted(self, crew):
        crew.mow_tainted("litter", at="09:00")
        answer = crew.client.post(f"/loads/{self.drop['load_id']}/delivery-notes")
        assert (answer.status_code, answer.json["title"] is not None) == (409, True)
