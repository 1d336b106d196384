"""A client's consent has its dates in their order, whoever writes them."""

from dataclasses import replace
from datetime import date
from uuid import UUID

import pytest

from tests.crews import NOW
from tests.holds import Yard

BACKWARDS = {"state": "given", "given_on": "2027-01-01", "expires_on": "2026-01-01"}
OF_ONE_DAY = {"state": "given", "given_on": "2026-05-24", "expires_on": "2026-05-24"}
LAST_DAY = "/consent/expires_on"


@pytest.fixture
def yard():
    return Yard()


def named(answer):
    assert answer.status_code == 422, answer.text
    return {error["pointer"] for error in answer.json["errors"]}


def test_a_consent_that_ends_before_it_begins_is_refused_beside_all_other_faults(yard):
    before = yard.client.get(yard.bed).json
    new = {
        "property_id": before["property_id"],
        "name": "Another",
        "area": {"value": 20, "unit": "m2"},
        "consent": BACKWARDS,
    }
    ways = (
        lambda said: yard.client.post("/beds", json={**new, **said}),
        lambda said: yard.client.patch(yard.bed, json={"consent": BACKWARDS, **said}, headers=NOW),
    )
    for send in ways:
        assert named(send({})) == {LAST_DAY}
        assert named(send({"name": 3})) == {LAST_DAY, "/name"}
        both = {**BACKWARDS, "mass_per_visit_max_kg": 100, "mass_per_visit_min_kg": 900}
        assert named(send({"consent": both})) == {LAST_DAY, "/consent/mass_per_visit_min_kg"}
    assert yard.client.get(yard.bed).json == before
    assert yard.patch(yard.bed, {"consent": OF_ONE_DAY})["consent"]["expires_on"] == "2026-05-24"
    # What is sent alone is held against what is on record.
    one = {"consent": {"given_on": "2026-05-25"}}
    assert named(yard.client.patch(yard.bed, json=one, headers=NOW)) == {LAST_DAY}


def test_dates_on_record_that_contradict_each_other_hinder_nothing_but_a_word_on_consent(yard):
    with yard.world.open_unit_of_work() as unit:
        bed = unit.beds.get(yard.firm_id, UUID(yard.ids["beds"]))
        consent = replace(bed.consent, given_on=date(2027, 1, 1), expires_on=date(2026, 1, 1))
        unit.beds.replace(
            replace(bed, consent=consent, version=bed.version + 1), expected_version=bed.version
        )
        unit.commit()
    assert yard.patch(yard.bed, {"where_to_lay": "Along the wall."})["where_to_lay"]
    other = {"consent": {"mass_per_visit_max_kg": 100}}
    assert named(yard.client.patch(yard.bed, json=other, headers=NOW)) == {LAST_DAY}
    unreadable = {"name": 3, "where_to_lay": "Along the fence."}
    assert named(yard.client.patch(yard.bed, json=unreadable, headers=NOW)) == {"/name"}
    assert yard.patch(yard.bed, {"consent": OF_ONE_DAY})["consent"]["given_on"] == "2026-05-24"


def test_what_a_client_agreed_to_ends_with_their_property(yard):
    agreed = {"state": "given", "given_on": "2026-05-01", "mass_per_visit_max_kg": 500}
    before = yard.patch(yard.bed, {"consent": agreed})
    home = f"/properties/{before['property_id']}"
    next_one = yard.client.post("/clients", json={"name": "The next"}).json["id"]
    yard.patch(home, {"access_notes": "Side gate."})
    assert yard.client.get(yard.bed).json["consent"] == before["consent"]
    yard.patch(home, {"client_id": next_one})
    bed = yard.client.get(yard.bed).json
    assert (bed["consent"]["state"], bed["consent"]["given_on"]) == ("not_asked", None)
    assert bed["consent"]["mass_per_visit_max_kg"] is None
    # Their calendar shows the next one's deliveries no more.
    assert bed["feeds_ended_at"] is not None
    (*_, last) = yard.client.get(f"{yard.bed}/history").json["items"]
    assert last["reason"] == "The property has another client: ask them."
    same = ("property_id", "name", "area", "drainage", "opening_balance", "legal_basis")
    assert [bed[name] for name in same] == [before[name] for name in same]
