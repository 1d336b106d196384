"""What lay in one body with a recalled lot is recalled as mixed, also once the body is parted."""

import pytest

from tests.crews import another_crew
from tests.holds import drops
from tests.journeys.test_http_cleaner import with_role
from tests.journeys.test_http_recalls import lot_of
from tests.journeys.test_http_refused_for_cause import WHY, decisions, takes_back
from tests.loading import Loading


class Parted(Loading):
    """A yard in whose one body two clean lots lie."""

    def __init__(self):
        super().__init__()
        self.world.clock.move(minutes=30)  # it is 14:05 at the depot
        self.first = self.mow(self.lawn("First"), at="13:50")
        self.second = self.mow(self.lawn("Second"), at="14:00")

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

    def tipped(self, job, *, kind="bed", vehicle=None, at=None, **headers):
        """Let the office record a tip; return the answer."""
        body = {
            "vehicle_id": vehicle or self.ids["vehicles"],
            "destination_kind": kind,
            "destination_id": self.ids["beds" if kind == "bed" else "hold-bays"],
            "done_at": at or self.world.clock.now().isoformat(),
            "parts": [{"job_id": job}],
        }
        return self.client.post("/loads", json=body, headers=headers)

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
    assert yard.tipped(yard.second).status_code == 409
    assert yard.tipped(yard.second, **WHY).status_code == 201
    assert yard.read()["frozen"]["bed_ids"] == [yard.ids["beds"]]
    assert yard.read()["still_to_call"] == [0]


def test_what_left_before_the_recalled_lot_came_aboard_is_not_recalled(yard):
    yard.tip(yard.first)
    third = yard.mow(yard.lawn("Third"), at="14:08")
    yard.tip(third, kind="hold_bay")
    mixed = {one["job_id"] for one in yard.traced(third)["mixed_with"]}
    assert mixed == {yard.second}
    assert [one["kind"] for one in yard.traced(third)["places"]] == ["hold_bay", "vehicle"]


def test_a_bed_that_got_a_lot_before_it_was_mixed_is_neither_told_of_nor_frozen(yard):
    path = f"/loads/{yard.tip(yard.second, share=0.5)['load_id']}"
    third = yard.mow(yard.lawn("Third"), at="14:08")
    yard.tip(third, kind="hold_bay")
    assert yard.recall(third)["frozen"]["bed_ids"] == []
    yard.routing()
    assert decisions(yard, "recall") == []
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


def test_an_open_form_of_a_clean_lot_is_kept_though_its_body_was_parted(yard):
    before = yard.client.get(f"/jobs/{yard.second}")
    yard.tip(yard.first, kind="hold_bay")
    assert yard.client.get(f"/jobs/{yard.second}").json == before.json
    path, own = f"/jobs/{yard.second}", {"If-Match": before.headers["ETag"]}
    kept = yard.client.patch(path, json={"remarks": "Damp below the hedge."}, headers=own)
    assert kept.status_code == 200, kept.text


def test_what_stays_of_a_lot_when_all_of_the_recalled_one_left_with_some_of_it_is_mixed(yard):
    where = {"destination_kind": "hold_bay", "destination_id": yard.ids["hold-bays"]}
    yard.say(
        "tipped", **where, parts=[{"job_id": yard.first}, {"job_id": yard.second, "share": 0.5}]
    )
    yard.world.clock.move(minutes=5)
    yard.tip(yard.second)
    assert yard.recall()["frozen"]["bed_ids"] == [yard.ids["beds"]]


def test_what_lay_with_a_lot_that_another_vehicle_took_and_tipped_is_mixed(yard):
    other = another_crew(yard)["vehicle_id"]
    assert yard.tipped(yard.first, kind="hold_bay", vehicle=other).status_code == 201
    yard.tip(yard.second)
    assert yard.recall()["frozen"]["bed_ids"] == [yard.ids["beds"]]


def test_a_tip_that_is_said_late_was_of_the_body_as_it_was_then(yard):
    yard.tip(yard.first, kind="hold_bay")
    late = yard.tipped(yard.second, at="2026-05-24T14:02:00+01:00")
    assert late.status_code == 201, late.text
    assert yard.recall()["frozen"]["bed_ids"] == [yard.ids["beds"]]


def test_only_the_office_says_with_a_reason_that_a_clean_lot_was_kept_apart(yard):
    yard.tip(yard.first, kind="hold_bay")
    yard.recall()
    refused = takes_back(yard, yard.second, **WHY, **with_role(yard, "crew"))
    assert refused.status_code == 403, refused.text
    refused = takes_back(yard, yard.second)
    assert (refused.status_code, refused.json["code"]) == (409, "taint_on_record")
    assert lot_of(yard, yard.first) in refused.json["detail"]
    assert takes_back(yard, yard.second, **WHY).status_code == 200
    last = yard.client.get(f"/jobs/{yard.second}/history").json["items"][-1]
    assert last["reason"] == WHY["Change-Reason"]
    apart_from = {"was": lot_of(yard, yard.first), "became": None}
    assert last["changes"] == {"lay_with": apart_from}
    assert takes_back(yard, yard.second, **WHY).json["code"] == "nothing_was_said"


def test_what_was_kept_apart_is_mixed_with_what_comes_into_its_body_later(yard):
    yard.tip(yard.first, kind="hold_bay")
    takes_back(yard, yard.second, **WHY)
    yard.world.clock.move(minutes=5)
    third = yard.mow(yard.lawn("Third"), at="14:14")
    yard.tip(third, kind="hold_bay")
    assert [one["job_id"] for one in yard.traced(third)["mixed_with"]] == [yard.second]
    assert yard.traced(yard.first)["mixed_with"] == []


@pytest.mark.parametrize("how", ["cut", "planned", "given"])
def test_what_was_kept_apart_is_mixed_with_what_is_told_of_later_whenever_that_was(yard, how):
    earlier = "2026-05-24T13:55:00+01:00"
    if how == "planned":
        third = yard.plan_to_mow(yard.lawn("Third"))
    elif how == "given":
        third = yard.mow(yard.lawn("Third"), at="13:40", **another_crew(yard))
    yard.tip(yard.first, kind="hold_bay")
    assert takes_back(yard, yard.second, **WHY).status_code == 200
    yard.world.clock.move(minutes=5)
    if how == "planned":
        yard.patch(f"/jobs/{third}", {"state": "mown", "cut_at": earlier})
    elif how == "given":
        into = {"to_vehicle_id": yard.ids["vehicles"]}
        yard.say("given", at=earlier, **into, parts=[{"job_id": third}])
    else:
        third = yard.mow(yard.lawn("Third"), at="13:55")
    yard.tip(third, kind="hold_bay")

    def mixed(job):
        return {one["job_id"] for one in yard.traced(job)["mixed_with"]}

    assert mixed(third) == {yard.first, yard.second}
    # Said again, it is of that as well.
    assert takes_back(yard, yard.second, **WHY).status_code == 200
    assert (mixed(third), mixed(yard.second)) == ({yard.first}, set())


def test_a_vehicle_that_was_named_by_mistake_had_nothing_of_a_lot_aboard(yard):
    other = another_crew(yard)
    yard.tip(yard.first, kind="hold_bay")
    yard.patch(f"/jobs/{yard.second}", {name: other[name] for name in ("crew_id", "vehicle_id")})
    assert yard.traced(yard.first)["mixed_with"] == []
