"""A client is handed all that is kept of them, and is erased; the firm's books go on."""

import json

import pytest

from service.core.callers.access import Role
from tests.crews import DAY
from tests.marked import MARK, Marked

WORD = {"asked_by": "client", "reason": "Moved away."}


@pytest.fixture
def firm():
    return Marked()


def erase(firm, status=200, **said):
    answer = firm.client.post(f"/clients/{firm.id}/erasure", json={**WORD, **said})
    assert answer.status_code == status, answer.text
    return answer.json


def handed_out(firm):
    answer = firm.client.get(f"/clients/{firm.id}/personal-data")
    assert answer.status_code == 200, answer.text
    assert "attachment" in answer.headers["Content-Disposition"]
    return answer.json


def test_a_client_is_handed_all_that_was_entered_and_said_of_them_and_nothing_of_others(firm):
    firm.lives()
    told = json.dumps(handed_out(firm), ensure_ascii=False)
    texts = (
        *("name", "street 1", "street 2", "house", "gate code 4711", "neighbour", "lawn", "border"),
        *("orchids", "behind the shed", "left of the shed", "grandmother", "husband", "daughter"),
        *("wet corner", "dry corner", "it dried", "new name", "married", "signature", "thanks"),
        *("was sprayed", "of the other", "yes", "reported", "key"),
    )
    assert [text for text in texts if f"{MARK} {text}" not in told] == []
    other = firm.client.get(f"/clients/{firm.ids['clients']}").json
    assert other["name"] not in told
    assert firm.ids["beds"] not in told
    assert "secret" not in told


def test_what_becomes_of_each_text_is_told_before_anybody_erases(firm):
    on_erasure = {(one["book"], one["field"]): one for one in handed_out(firm)["on_erasure"]}
    assert on_erasure["clients", "phone"]["becomes"] == "emptied"
    kept = on_erasure["treatments", "product"]
    assert kept["becomes"] == "kept"
    assert "1107/2009" in kept["why"]


def test_an_erased_client_says_so_in_every_list_and_has_no_telephone(firm):
    firm.lives()
    erased = erase(firm)
    assert (erased["state"], erased["reason"]) == ("erased", "Moved away.")
    listed = {one["id"]: one for one in firm.client.get("/clients").json["items"]}
    assert (listed[firm.id]["state"], listed[firm.id]["phone"]) == ("erased", None)
    assert listed[firm.ids["clients"]]["state"] == "kept"
    assert firm.client.get(f"/clients/{firm.id}/erasure").json == erased
    assert erase(firm, reason="Another.") == erased
    assert MARK not in json.dumps(handed_out(firm))
    other = firm.client.get(f"/clients/{firm.ids['clients']}/erasure").json
    assert (other["state"], other["erased_at"]) == ("kept", None)


def test_whoever_writes_why_a_client_is_erased_may_name_whom_and_it_is_not_kept(firm):
    assert erase(firm, reason=f"{MARK} name has died.")["reason"] == "erased has died."


@pytest.mark.parametrize("role", ["dispatcher", "integrator", "crew", "client"])
def test_only_the_owner_hands_out_or_erases(firm, role):
    client = firm.world.client(firm.firm_id, Role(role))
    assert client.get(f"/clients/{firm.id}/personal-data").status_code == 403
    assert client.get(f"/clients/{firm.id}/erasure").status_code == 403
    assert client.post(f"/clients/{firm.id}/erasure", json=WORD).status_code == 403


def test_nobody_is_erased_whose_grass_is_still_planned_aboard_or_held(firm):
    planned = firm.plan_to_mow(firm.own_lawn)
    assert "planned to be mown" in erase(firm, status=409)["detail"]
    firm.patch(f"/jobs/{planned}", {"state": "cancelled"})
    cut = firm.mow(firm.own_lawn)
    refused = erase(firm, status=409)
    assert refused["code"] == "client_not_erasable"
    assert "aboard a vehicle" in refused["detail"]
    assert firm.client.get(f"/jobs/{cut}").json["lot_code"] in refused["detail"]
    firm.tips(firm.ids["hold-bays"], cut, kind="hold_bay")
    assert "held in a bay" in erase(firm, status=409)["detail"]
    (entry,) = firm.client.get("/hold-entries?state=in_bay").json["items"]
    firm.world.clock.move(minutes=5)
    gone = {"state": "released", "released_as": "elsewhere", "released_to": "Hill Farm"}
    firm.patch(f"/hold-entries/{entry['id']}", gone)
    erase(firm)


def test_nobody_is_erased_who_may_still_have_to_be_called(firm):
    lot = firm.client.get(f"/jobs/{firm.mow(firm.lawn('Other'))}").json
    firm.tips(firm.own_bed, lot["id"])
    begun = firm.post("/recalls", {"lot_code": lot["lot_code"], "reason": "Sprayed."})
    assert "recall" in erase(firm, status=409)["detail"]
    firm.client.post(f"/recalls/{begun['id']}/end")
    erase(firm)


def test_links_keys_and_consent_of_an_erased_client_end(firm):
    firm.lives()
    key = firm.post("/keys", {"role": "client", "name": "App", "client_id": firm.id})["secret"]
    theirs = firm.world.app.test_client()
    theirs.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {key}"
    assert theirs.get(f"/clients/{firm.id}").status_code == 200
    erase(firm)
    assert theirs.get(f"/clients/{firm.id}").status_code == 401
    assert firm.world.app.test_client().get(firm.address).status_code == 410
    bed = firm.client.get(f"/beds/{firm.own_bed}").json
    assert bed["consent"]["state"] == "withdrawn"
    assert bed["feeds_ended_at"] is not None


def test_an_issued_note_keeps_its_facts_without_the_person(firm):
    firm.lives()
    before = firm.client.get(f"/delivery-notes/{firm.note_id}").json
    digests = erase(firm)["digests"]
    after = firm.client.get(f"/delivery-notes/{firm.note_id}").json
    facts, told = before["note"]["facts"], after["note"]["facts"]
    for kept in ("number", "working_day", "amount", "origins", "guidance"):
        assert told[kept] == facts[kept]
    assert told["receiver"]["name"] == "erased"
    assert after["sha256"] != before["sha256"]
    assert digests[firm.note_id] == before["sha256"]
    for kind in ("text/html", "application/pdf"):
        shown = firm.client.get(f"/delivery-notes/{firm.note_id}/page", headers={"Accept": kind})
        assert shown.status_code in {200, 404, 406}
        assert MARK not in shown.text


def test_days_months_and_lists_are_read_as_before_when_a_client_was_erased(firm):
    firm.lives()
    depot = f"depot_id={firm.ids['depots']}"
    paths = (
        *("/clients", "/properties", "/lawns", "/beds", "/treatments", "/jobs", "/loads"),
        *("/hold-entries", "/delivery-notes", "/mass-movements", "/recalls", "/day-plans"),
        f"/days/{DAY}/routing?{depot}",
        f"/days/{DAY}/decisions?{depot}",
        f"/days/{DAY}/closing?{depot}",
        f"/totals?{depot}&since={DAY}&until={DAY}",
        f"/hold-queue?{depot}",
    )
    erase(firm)
    for path in paths:
        answer = firm.client.get(path)
        assert answer.status_code == 200, (path, answer.text)
        assert MARK not in answer.text, path


def test_of_an_erased_client_nothing_more_is_recorded_until_another_has_the_land(firm):
    erase(firm)
    name = firm.client.patch(f"/clients/{firm.id}", json={"name": "X"}, headers={"If-Match": "*"})
    assert (name.status_code, name.json["code"]) == (409, "client_erased")
    job = firm.yard.job(lawn_id=firm.own_lawn)
    for path, body, pointer in (
        ("/jobs", job, "/property_id"),
        ("/beds", firm.bed_of_marked(), "/property_id"),
        ("/properties", {**home(firm), "client_id": firm.id}, "/client_id"),
    ):
        refused = firm.client.post(path, json=body)
        assert refused.status_code == 422, refused.text
        assert [one["pointer"] for one in refused.json["errors"]] == [pointer]
    given = firm.client.patch(
        f"/beds/{firm.own_bed}", json={"consent": {"state": "given"}}, headers={"If-Match": "*"}
    )
    assert given.status_code == 422
    # The house has a new owner, who is mown for: what was treated there stays known.
    new = firm.post("/clients", {"name": "N. Buyer"})["id"]
    firm.patch(f"/properties/{firm.home}", {"client_id": new, "name": "Villa"})
    assert firm.client.post("/jobs", json=job).status_code == 201
    firm.patch(f"/beds/{firm.own_bed}", {"consent": {"state": "given"}})


def home(firm):
    like = firm.client.get(f"/properties/{firm.ids['properties']}").json
    return {name: like[name] for name in ("name", "address", "locality", "point")}


def test_a_name_that_another_client_has_too_stays_theirs(firm):
    firm.patch(f"/clients/{firm.id}", {"name": "A. Miller-Smith"})
    other = firm.post("/clients", {"name": "A. Miller-Smith", "phone": "+1 555 0111"})["id"]
    lot = firm.client.get(f"/jobs/{firm.mow(firm.lawn('Other'))}").json
    firm.patch(f"/properties/{firm.ids['properties']}", {"client_id": other})
    firm.tips(firm.ids["beds"], lot["id"])
    begun = firm.post("/recalls", {"lot_code": lot["lot_code"], "reason": "Sprayed."})
    firm.client.post(f"/recalls/{begun['id']}/end")
    erase(firm)
    people = firm.client.get(f"/recalls/{begun['id']}").json["people"]
    assert [one["name"] for one in people] == ["A. Miller-Smith"]
    assert firm.client.get(f"/clients/{other}").json["name"] == "A. Miller-Smith"


def sold(firm):
    """Have the house sold: what was said before stays the former client's, and no one else's."""
    firm.patch(f"/properties/{firm.home}", {"access_notes": f"{MARK} code 1234"})
    cut = firm.mow(firm.own_lawn, remarks=f"{MARK} wet corner")
    firm.tips(firm.ids["beds"], cut)
    firm.world.clock.move(hours=48)
    new = firm.post("/clients", {"name": "N. Buyer"})["id"]
    house = {"client_id": new, "name": "Villa", "address": "2 Elm Row", "access_notes": None}
    firm.patch(f"/properties/{firm.home}", {**house, "may_sign": None})
    return new, cut


def test_who_bought_a_house_is_not_handed_what_was_said_of_the_client_before(firm):
    new, cut = sold(firm)
    bought = firm.client.get(f"/clients/{new}/personal-data").json
    assert bought["jobs"] == []
    assert "code 1234" not in json.dumps(bought)
    assert [one["id"] for one in handed_out(firm)["jobs"]] == [cut]
    told = json.dumps(handed_out(firm))
    assert ("code 1234" in told, "2 Elm Row" in told) == (True, False)


def test_who_sold_a_house_is_erased_from_its_history_and_the_next_client_stays(firm):
    new, cut = sold(firm)
    erase(firm)
    history = firm.client.get(f"/properties/{firm.home}/history").json
    assert "code 1234" not in json.dumps(history)
    assert "Villa" in json.dumps(history)
    assert firm.client.get(f"/jobs/{cut}").json["remarks"] is None
    house = firm.client.get(f"/properties/{firm.home}").json
    assert (house["name"], house["client_id"], house["erased_at"]) == ("Villa", new, None)
