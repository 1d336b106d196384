"""What lay in one body with a recalled lot is recalled as mixed, also once the body is parted."""

import pytest

from tests.holds import drops
from tests.journeys.test_http_recalls import lot_of
from tests.journeys.test_http_refused_for_cause import WHY, decisions, takes_back
from tests.loading import Loading
from tests.outages import warnings


class Parted(Loading):
    """A yard in whose one body two clean lots lie."""

    def __init__(self):
        super().__init__()
        self.first = self.mow(self.lawn("First"), at="11:50")
        self.second = self.mow(self.lawn("Second"), at="12:00")
        self.world.clock.move(minutes=30)

    def tip(self, *jobs, kind="bed", status=200, **share):
        where = self.ids["beds" if kind == "bed" else "hold-bays"]
        parts = [{"job_id": job, **share} for job in jobs]
        told = {"destination_kind": kind, "destination_id": where, "parts": parts}
        answer = self.say("tipped", **told, status=status)
        self.world.clock.move(minutes=5)
        return answer

    def recall(self, job=None):
        lot = lot_of(self, job or self.first)
        body = {"lot_code": lot, "reason": "Clopyralid was found."}
        self.path = f"/recalls/{self.post('/recalls', body)['id']}"
        return self.read()

    def read(self):
        return self.client.get(self.path).json

    def traced(self, job):
        return self.client.get(f"/recall?lot_code={lot_of(self, job)}").json


@pytest.fixture
def yard():
    return Parted()


def test_a_recall_before_the_body_is_parted_holds_for_what_lay_in_it(yard):
    yard.recall()
    assert yard.tip(yard.second, status=409)["code"] == "not_for_this_place"
    yard.tip(yard.first, kind="hold_bay")
    assert [one["job_id"] for one in yard.traced(yard.first)["mixed_with"]] == [yard.second]
    assert yard.tip(yard.second, status=409)["code"] == "not_for_this_place"
    code = lot_of(yard, yard.second)
    went = {d["destination_kind"] for d in drops(yard.routing()) if code in d["lot_codes"]}
    assert went == {"hold_bay"}
    assert takes_back(yard, yard.second, **WHY).json["status"] == "clean"
    assert yard.traced(yard.first)["mixed_with"] == []
    yard.tip(yard.second)
    assert yard.read()["still_to_call"] == []


def test_a_recall_after_the_body_was_parted_freezes_and_calls_where_the_other_went(yard):
    yard.tip(yard.first, kind="hold_bay")
    yard.tip(yard.second)
    assert decisions(yard, "lay_in_one_body") == []
    begun = yard.recall()
    assert begun["frozen"]["bed_ids"] == [yard.ids["beds"]]
    assert begun["still_to_call"] == [0]
    assert [one["job_id"] for one in begun["trace"]["mixed_with"]] == [yard.second]
    assert [one["job_id"] for one in begun["trace"]["lots"]] == [yard.first]
    (bed,) = [one for one in begun["trace"]["places"] if one["kind"] == "bed"]
    assert (bed["mixed"], bed["lot_codes"]) == (True, [lot_of(yard, yard.second)])


def test_what_is_tipped_all_the_same_is_followed(yard):
    yard.tip(yard.first, kind="hold_bay")
    begun = yard.recall()
    assert begun["frozen"]["bed_ids"] == []
    body = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "done_at": yard.world.clock.now().isoformat(),
        "parts": [{"job_id": yard.second}],
    }
    assert yard.client.post("/loads", json=body).status_code == 409
    assert yard.client.post("/loads", json=body, headers=WHY).status_code == 201
    assert yard.read()["frozen"]["bed_ids"] == [yard.ids["beds"]]
    assert yard.read()["still_to_call"] == [0]


def test_what_left_before_the_recalled_lot_came_aboard_is_not_recalled(yard):
    yard.tip(yard.first)
    third = yard.mow(yard.lawn("Third"), at="12:34")
    yard.tip(third, kind="hold_bay")
    mixed = {one["job_id"] for one in yard.traced(third)["mixed_with"]}
    assert mixed == {yard.second}
    assert [one["kind"] for one in yard.traced(third)["places"]] == ["hold_bay", "vehicle"]


def test_a_bed_that_got_a_lot_before_it_was_mixed_is_neither_told_of_nor_frozen(yard):
    path = f"/loads/{yard.tip(yard.second, share=0.5)['load_id']}"
    third = yard.mow(yard.lawn("Third"), at="12:33")
    yard.tip(third, kind="hold_bay")
    assert yard.recall(third)["frozen"]["bed_ids"] == []
    told = yard.routing()
    assert decisions(yard, "recall") == []
    assert warnings(told, "recall") == []
    yard.patch(path, {"weighed_net": {"value": 120, "unit": "kg"}, "weigh_ticket": "T-1"})
    assert (yard.read()["frozen"]["bed_ids"], yard.read()["still_to_call"]) == ([], [])
    # What leaves the same lot from then on is frozen.
    assert yard.tip(yard.second, status=409)["code"] == "not_for_this_place"


def test_a_lot_stays_mixed_when_it_is_amended(yard):
    yard.tip(yard.first, kind="hold_bay")
    yard.patch(f"/jobs/{yard.second}", {"remarks": "Damp below the hedge.", "wetness": "dry"})
    yard.treated(yard.client.get(f"/jobs/{yard.second}").json["lawn_id"])
    assert [one["job_id"] for one in yard.traced(yard.first)["mixed_with"]] == [yard.second]


def test_taking_back_what_was_said_of_a_lot_does_not_forget_with_which_it_lay(yard):
    yard.tip(yard.first, kind="hold_bay")
    load = yard.tip(yard.second)
    path = f"/loads/{load['load_ids'][0] if 'load_ids' in load else load['load_id']}"
    yard.patch(path, {"state": "refused", "refusal_reason": "litter"})
    takes_back(yard, yard.second, **WHY)
    assert [one["job_id"] for one in yard.traced(yard.first)["mixed_with"]] == [yard.second]


def test_a_cut_that_never_was_is_undone_though_it_lay_beside_another(yard):
    yard.tip(yard.first, kind="hold_bay")
    planned = {"state": "planned", "cut_at": None, "planned_at": "2026-05-24T16:00:00+01:00"}
    assert yard.patch(f"/jobs/{yard.second}", planned)["state"] == "planned"
