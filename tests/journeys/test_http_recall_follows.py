"""An open recall goes where its lots go, also where they should not have gone."""

import pytest

from service.api.books import clients
from tests.holds import DAY, Yard, drops
from tests.journeys.test_http_refused_for_cause import decisions

WHY = {"Change-Reason": "It lay there before we knew."}
REASON = "Clopyralid was found."


class TwoBeds(Yard):
    """A yard with a second client's bed, and a lot of which half lies on the first."""

    def __init__(self):
        super().__init__()
        owner = self.post("/clients", {**clients.CLIENTS.example, "name": "R. Second"})
        place = {**clients.PROPERTIES.example, "client_id": owner["id"]}
        home = self.post("/properties", place)
        bed = self.client.get(self.bed).json
        fresh = {name: bed[name] for name in clients.BEDS.example if name in bed}
        self.second = self.post("/beds", {**fresh, "property_id": home["id"]})["id"]
        self.lawn_id = self.lawn("Front")
        self.job = self.mow(self.lawn_id, at="10:00")
        self.world.clock.move(minutes=5)
        self.tip(self.ids["beds"], share=0.5)

    def tip(self, bed, *, job=None, share=None, done_at=None, **headers):
        part = {"job_id": job or self.job} | ({} if share is None else {"share": share})
        body = {
            "vehicle_id": self.ids["vehicles"],
            "destination_kind": "bed",
            "destination_id": bed,
            "done_at": (done_at or self.world.clock.now()).isoformat(),
            "parts": [part],
        }
        answer = self.client.post("/loads", json=body, headers=headers)
        assert answer.status_code == 201, answer.text
        return answer.json["id"]

    def recall(self):
        lot = self.client.get(f"/jobs/{self.job}").json["lot_code"]
        self.path = f"/recalls/{self.post('/recalls', {'lot_code': lot, 'reason': REASON})['id']}"
        return self.client.get(self.path).json

    def says(self, bed, job):
        told = self.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
        return next(one for one in told if one["destination_id"] == bed)


@pytest.mark.parametrize("is_said_late", [False, True])
def test_where_the_rest_of_a_recalled_lot_is_tipped_is_frozen_and_called(is_said_late):
    yard = TwoBeds()
    tipped_at = yard.world.clock.now() if is_said_late else None
    yard.world.clock.move(minutes=5)
    begun = yard.recall()
    assert begun["frozen"]["bed_ids"] == [yard.ids["beds"]]
    first = yard.client.post(f"{yard.path}/calls", json={"number": 0}).json
    assert first["still_to_call"] == []
    assert decisions(yard, "recall_to_call") == []
    yard.world.clock.move(minutes=5)
    load = yard.tip(yard.second, done_at=tipped_at, **WHY)
    now = yard.client.get(yard.path).json
    assert set(now["frozen"]["bed_ids"]) == {yard.ids["beds"], yard.second}
    assert [one["name"] for one in now["people"]][1:] == ["R. Second"]
    assert now["still_to_call"] == [1]
    # What was traced when it was begun stays as it was, with its digest.
    assert (now["trace"], now["sha256"]) == (begun["trace"], begun["sha256"])
    (told,) = decisions(yard, "recall_to_call")
    assert "R. Second" in told["sentence"]
    assert REASON.rstrip(".") in told["sentence"]
    other = yard.mow(yard.lawn("Back"), at="11:30")
    assert yard.says(yard.second, other)["code"] == "recalled"
    file = yard.client.get(f"{yard.path}/evidence").json
    assert [one["load_id"] for one in file["brought_since"]] == [load]
    called = yard.client.post(f"{yard.path}/calls", json={"number": 1, "said": "Will wait."})
    assert called.json["still_to_call"] == []


def test_a_bed_that_got_what_was_learned_to_be_treated_takes_nothing_until_that_is_settled():
    yard = TwoBeds()
    yard.tip(yard.ids["beds"])
    lots = yard.client.get(f"/jobs/{yard.job}").json["lot_code"]
    yard.treated(yard.lawn_id)
    other = yard.mow(yard.lawn("Back"), at="11:30")
    went = {drop["destination_id"] for drop in drops(yard.routing())}
    assert yard.ids["beds"] not in went
    said = yard.says(yard.ids["beds"], other)
    assert (said["code"], said["rule_class"]) == ("bed_tainted", "advice")
    assert lots in said["sentence"]
    # Days after, when nobody looks at that day's decisions any more, as well.
    yard.world.clock.move(days=2)
    later = yard.mow(yard.lawn("Side"), at="11:30", day="2026-05-26")
    assert yard.says(yard.ids["beds"], later)["code"] == "bed_tainted"
    yard.recall()
    assert yard.says(yard.ids["beds"], later)["code"] == "recalled"
    yard.client.post(f"{yard.path}/end")
    assert yard.says(yard.ids["beds"], later)["code"] not in {"bed_tainted", "recalled"}


def test_no_reason_puts_more_on_a_bed_on_which_something_lies_that_may_not():
    yard = TwoBeds()
    yard.treated(yard.lawn_id)
    yard.tip(yard.second, **WHY)
    other = yard.mow(yard.lawn("Back"), at="11:30")
    choice = {"job_id": other, "destination_id": yard.ids["beds"]}
    for headers in ({}, WHY):
        refused = yard.client.post("/place-choices", json=choice, headers=headers)
        assert (refused.status_code, refused.json["code"]) == (409, "place_refused")
        assert "may not lie here" in refused.json["detail"]
        assert "Begin the recall of what lies there" in refused.json["detail"]
    went = {drop["destination_id"] for drop in drops(yard.routing())}
    assert yard.ids["beds"] not in went
    about = f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}"
    found = yard.client.get(about).json["decisions"]
    asked = [one for one in found if one["code"] == "recall"]
    assert yard.ids["beds"] in {one["destination_id"] for one in asked}


def test_once_a_recall_is_called_and_ended_nothing_of_it_is_to_be_called():
    yard = TwoBeds()
    yard.tip(yard.ids["beds"])
    yard.treated(yard.lawn_id)
    yard.routing()
    assert decisions(yard, "recall") != []
    yard.recall()
    for number, _ in enumerate(yard.client.get(yard.path).json["people"]):
        yard.post(f"{yard.path}/calls", {"number": number})
    assert yard.client.post(f"{yard.path}/end").status_code == 200
    assert decisions(yard, "recall") == []


@pytest.mark.parametrize("late", ["disease_seen", "treatment"])
def test_what_is_learned_of_a_load_after_its_recall_was_ended_is_told_again(late):
    yard = TwoBeds()
    yard.tip(yard.ids["beds"])
    yard.treated(yard.lawn_id, active="2,4-D")
    other = yard.mow(yard.lawn("Back"), at="11:30")
    yard.routing()
    yard.recall()
    yard.client.post(f"{yard.path}/end")
    assert yard.says(yard.ids["beds"], other)["code"] != "bed_tainted"
    # A word of something else changes nothing.
    yard.patch(f"/jobs/{yard.job}", {"remarks": "Cut after the rain."})
    assert yard.says(yard.ids["beds"], other)["code"] != "bed_tainted"
    if late == "treatment":
        yard.treated(yard.lawn_id, active="aminopyralid", product="Another")
    else:
        yard.patch(f"/jobs/{yard.job}", {"disease_seen": True})
    assert yard.says(yard.ids["beds"], other)["code"] == "bed_tainted"
    yard.routing()
    assert decisions(yard, "recall") != []
    yard.recall()
    yard.client.post(f"{yard.path}/end")
    assert yard.says(yard.ids["beds"], other)["code"] != "bed_tainted"
    assert decisions(yard, "recall") == []
