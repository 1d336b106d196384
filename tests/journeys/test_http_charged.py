"""A site charges by its weighbridge: the fee of a load is that of what counts of it."""

import pytest

from tests.holds import Yard

FEE = {"basis": "per_tonne", "amount_cents": 3000, "minimum_cents": 0}
WEIGHED = {"value": 10, "unit": "kg"}
CENTS = 30


@pytest.fixture
def yard():
    yard = Yard()
    yard.patch(yard.site, {"fee": FEE})
    yard.job = yard.mow(yard.lawn("Front"), at="10:00")
    yard.world.clock.move(minutes=60)
    return yard


def tipped(yard, **fields):
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "done_at": yard.world.clock.now().isoformat(),
        "parts": [{"job_id": yard.job}],
        **fields,
    }
    return yard.post("/loads", tip)


def likely_cents(load):
    return round(load["mass_kg"]["likely"] * 3000 / 1000)


def test_a_weight_that_counts_is_charged_whenever_it_comes(yard):
    load = tipped(yard)
    assert load["fee_cents"] == pytest.approx(likely_cents(load), abs=1)
    assert load["fee_cents"] != CENTS
    path = f"/loads/{load['id']}"
    assert yard.patch(path, {"weighed_net": WEIGHED, "weigh_ticket": "A1"})["fee_cents"] == CENTS
    month = {"depot_id": yard.ids["depots"], "since": "2026-05-01", "until": "2026-05-31"}
    (costs,) = yard.client.get("/totals", query_string={**month, "by": "month"}).json["costs"]
    assert costs["fee_cents"] == CENTS
    set_aside = yard.patch(path, {"ticket_review": "set_aside"}, reason="Another lorry's.")
    assert set_aside["fee_cents"] == load["fee_cents"]


def test_a_load_that_comes_with_its_ticket_is_charged_by_it(yard):
    assert tipped(yard, weighed_net=WEIGHED, weigh_ticket="A1")["fee_cents"] == CENTS


def test_what_a_site_asks_for_later_changes_no_fee_of_before(yard):
    load = tipped(yard)
    yard.patch(yard.site, {"fee": FEE | {"amount_cents": 9000}})
    said = yard.patch(f"/loads/{load['id']}", {"done_at": "2026-05-24T13:30:00+01:00"})
    assert said["fee_cents"] == load["fee_cents"]
    weighed = yard.patch(f"/loads/{load['id']}", {"weighed_net": WEIGHED, "weigh_ticket": "A1"})
    assert weighed["fee_cents"] == pytest.approx(CENTS, abs=1)  # at the price of then


def test_a_tip_that_was_undone_is_charged_by_its_next_weight_alone(yard):
    load = tipped(yard)
    path = f"/loads/{load['id']}"
    heavy = {"weighed_net": {"value": 20, "unit": "kg"}, "weigh_ticket": "A1"}
    assert yard.patch(path, heavy)["fee_cents"] == 2 * CENTS
    assert yard.patch(path, {"state": "planned"})["fee_cents"] == load["fee_cents"]
    again = {"state": "delivered", "done_at": load["done_at"]}
    right = {"weighed_net": WEIGHED, "weigh_ticket": "A2"}
    assert yard.patch(path, again | right)["fee_cents"] == CENTS


def test_half_a_load_is_half_the_fee(yard):
    load = tipped(yard)
    part = {"state": "partly_refused", "refused_share": 0.5, "refusal_reason": "Full."}
    assert yard.patch(f"/loads/{load['id']}", part)["fee_cents"] == pytest.approx(
        load["fee_cents"] / 2, abs=1
    )


def test_a_weight_that_counts_again_since_its_ticket_was_given_once_is_charged(yard):
    first = tipped(yard, weighed_net=WEIGHED, weigh_ticket="A1")
    yard.job = yard.mow(yard.lawn("Back"), at="12:00")
    second = tipped(yard, weighed_net=WEIGHED, weigh_ticket="A1")
    assert (second["weight_counts"], second["fee_cents"] == CENTS) == (False, False)
    yard.patch(f"/loads/{first['id']}", {"weighed_net": WEIGHED, "weigh_ticket": "A2"})
    counts = yard.client.get(f"/loads/{second['id']}").json
    assert (counts["weight_counts"], counts["fee_cents"]) == (True, CENTS)
