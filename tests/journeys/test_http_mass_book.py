"""The mass book over HTTP: where a lot went, what was said of it, and by whom."""

import pytest

from tests.deliveries import Delivered


@pytest.fixture
def crew():
    return Delivered()


def entries(crew, **query):
    asked = "&".join(f"{name}={value}" for name, value in query.items())
    answer = crew.client.get(f"/mass-movements?{asked}")
    assert answer.status_code == 200, answer.text
    return answer.json["items"]


def balances(crew, address):
    answer = crew.client.get(address)
    assert answer.status_code == 200, answer.text
    return {one["place_kind"]: one for one in answer.json["balances"]}


def test_a_lot_goes_from_its_lawn_to_the_body_to_the_bed(crew):
    cut, tipped = entries(crew, lot_id=crew.job)
    job = crew.client.get(f"/jobs/{crew.job}").json
    assert (cut["from_kind"], cut["from_id"]) == ("lawn", job["lawn_id"])
    assert cut["to_kind"] == tipped["from_kind"] == "vehicle"
    assert cut["to_id"] == tipped["from_id"] == crew.ids["vehicles"]
    assert (tipped["to_kind"], tipped["to_id"]) == ("bed", crew.ids["beds"])
    assert cut["happened_at"] < tipped["happened_at"]
    assert cut["key_id"] is not None


def test_an_undo_is_an_entry_and_takes_nothing_away(crew):
    before = entries(crew, lot_id=crew.job)
    crew.patch(crew.load, {"state": "planned"})
    cut, tipped, undone = entries(crew, lot_id=crew.job)
    assert [cut, tipped] == before
    assert undone["corrects_id"] == tipped["id"]
    assert undone["mass_likely_kg"] == -tipped["mass_likely_kg"]
    assert set(balances(crew, f"/mass-balances?lot_id={crew.job}")) == {"lawn", "vehicle"}


def test_a_correction_says_who_said_it_and_why(crew):
    crew.client.patch(
        f"/jobs/{crew.job}",
        json={"area_mowed": {"value": 6, "unit": "m2"}},
        headers={"If-Match": "*", "Change-Reason": "A zero too many."},
    )
    found = entries(crew, lot_id=crew.job)
    assert [entry["reason"] for entry in found[2:]] == ["A zero too many."] * 4
    at = balances(crew, f"/mass-balances?lot_id={crew.job}")
    assert at["bed"]["mass_kg"]["likely"] == pytest.approx(
        found[1]["mass_likely_kg"] / 10, rel=0.01
    )


def test_a_weight_counts_beside_the_estimate(crew):
    net = crew.client.get(crew.load).json["mass_kg"]["likely"] * 1.2
    ticket = {"weighed_net": {"value": round(net, 2), "unit": "kg"}, "weigh_ticket": "W-1"}
    crew.patch(crew.load, ticket)
    bed = balances(crew, "/mass-balances?place_kind=bed")["bed"]
    assert bed["counted_kg"] == pytest.approx(net, abs=0.01)
    assert bed["mass_kg"]["likely"] == pytest.approx(net / 1.2, rel=1e-3)


def test_a_day_of_the_past_is_told_by_the_book_of_now(crew):
    address = f"/days/2026-05-24/mass-balance?depot_id={crew.ids['depots']}"
    before = balances(crew, address)["bed"]["mass_kg"]["high"]
    crew.world.clock.move(days=40)
    crew.patch(f"/jobs/{crew.job}", {"area_mowed": {"value": 6, "unit": "m2"}})
    after = balances(crew, address)["bed"]["mass_kg"]["high"]
    assert after == pytest.approx(before / 10, rel=0.01)


def test_what_lay_on_a_bed_before_is_in_the_book(crew):
    balance = {"mass_kg": 90, "nitrogen_kg": 0.4, "laid_on": "2026-03-20", "stated_by": "Ann"}
    bed = f"/beds/{crew.ids['beds']}"
    was = balances(crew, "/mass-balances?place_kind=bed")["bed"]["mass_kg"]["likely"]
    crew.patch(bed, {"opening_balance": balance})
    now = balances(crew, "/mass-balances?place_kind=bed")["bed"]["mass_kg"]["likely"]
    assert now == pytest.approx(was + 90, abs=0.01)
    (opening,) = entries(crew, cause="opening")
    assert opening["reason"] == "stated by Ann"
    crew.patch(bed, {"opening_balance": None})
    assert len(entries(crew, cause="opening")) == 2


def test_another_firm_sees_nothing_of_it(crew):
    stranger = crew.world.client(crew.world.firm("Other"))
    assert stranger.get("/mass-movements").json["items"] == []
    assert stranger.get(f"/mass-balances?lot_id={crew.job}").json["balances"] == []
    address = f"/days/2026-05-24/mass-balance?depot_id={crew.ids['depots']}"
    assert stranger.get(address).status_code == 404
