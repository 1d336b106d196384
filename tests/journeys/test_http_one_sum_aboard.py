"""How much is aboard is one sum, by weight where a weight counts: on every screen, in the book."""

import pytest

from tests.crews import DAY, another_crew, drops
from tests.holds import Yard
from tests.outages import told, warnings

NEXT_DAY = "2026-05-25"
WEIGHED = {"value": 600, "unit": "kg"}


class Overnight(Yard):
    """A yard that kept two lots aboard for a night, of which one was weighed by its crew."""

    def __init__(self):
        super().__init__()
        self.patch(f"/crews/{self.ids['crews']}", {"language": "en"})
        large = {"value": 400, "unit": "m2"}
        self.mow(self.lawn("Weighed"), at="10:00", area_mowed=large, measured_mass=WEIGHED)
        self.mow(self.lawn("Thought"), at="11:00")
        self.world.clock.move(minutes=19 * 60)

    def book(self):
        rows = self.client.get("/mass-balances").json["balances"]
        mine = [one for one in rows if one["place_kind"] == "vehicle"]
        return {end: sum(one["mass_kg"][end] for one in mine) for end in ("low", "likely", "high")}


def test_what_lay_aboard_overnight_is_the_sum_of_the_book():
    yard = Overnight()
    plan = yard.routing(NEXT_DAY)
    (warning,) = warnings(plan, "aboard_overnight")
    book = yard.book()
    assert warning["mass_high_kg"] == pytest.approx(book["high"], abs=1)
    assert warning["mass_likely_kg"] == pytest.approx(book["likely"], abs=1)
    own = told(plan, yard.ids["vehicles"])
    assert own["aboard_now"]["mass_high_kg"] == pytest.approx(book["high"], abs=2)
    today = yard.client.get(f"/vehicles/{yard.ids['vehicles']}/today").json
    (caution,) = [one for one in today["cautions"] if "grass of" in one]
    assert f"up to {warning['mass_high_kg']}\N{NO-BREAK SPACE}kg" in caution
    listed = yard.client.get(f"/days/{NEXT_DAY}/decisions?depot_id={yard.ids['depots']}").json
    (decision,) = [one for one in listed["decisions"] if one["code"] == "aboard_overnight"]
    assert f"(up to {warning['mass_high_kg']} kg)" in decision["sentence"]


def test_a_cut_too_large_to_route_is_aboard_all_the_same():
    yard = Yard()
    yard.patch(f"/crews/{yard.ids['crews']}", {"language": "en"})
    park = yard.lawn("Park")
    yard.patch(f"/lawns/{park}", {"area": {"value": 90_000, "unit": "m2"}})
    yard.mow(park, at="10:00", area_mowed={"value": 90_000, "unit": "m2"})
    plan = yard.routing()
    assert warnings(plan, "lot_too_large")
    assert drops(plan) == []
    (balance,) = [
        one
        for one in yard.client.get("/mass-balances").json["balances"]
        if one["place_kind"] == "vehicle"
    ]
    own = told(plan, yard.ids["vehicles"])["aboard_now"]
    assert own["mass_high_kg"] == pytest.approx(balance["mass_kg"]["high"], abs=1)
    today = yard.client.get(f"/vehicles/{yard.ids['vehicles']}/today").json
    assert today["room"]["kg"] == 0
    assert any("may be aboard" in one for one in today["cautions"])
    assert today["day"] == DAY


def test_what_is_left_of_todays_cut_is_aboard_though_another_brings_on_what_was_held_of_it():
    yard = Overnight()
    yard.world.clock.move(hours=2)
    job = yard.mow(yard.lawn("Today"), at="09:00", day=NEXT_DAY)
    where = {"destination_kind": "hold_bay", "destination_id": yard.ids["hold-bays"]}
    with_it = {"vehicle_id": yard.ids["vehicles"], "parts": [{"job_id": job, "share": 0.25}]}
    yard.post("/loads", {**where, **with_it, "done_at": f"{NEXT_DAY}T09:30:00+01:00"})
    own = told(yard.routing(NEXT_DAY), yard.ids["vehicles"])["aboard_now"]["mass_high_kg"]
    load_of_it(yard, another_crew(yard))
    plan = yard.routing(NEXT_DAY)
    assert told(plan, yard.ids["vehicles"])["aboard_now"]["mass_high_kg"] == own
    assert own == pytest.approx(yard.book()["high"] - 4, abs=2)


def load_of_it(yard, crew):
    (entry,) = yard.client.get("/hold-entries?state=in_bay").json["items"]
    now = yard.world.clock.now().isoformat()
    loaded = {
        "id": "6f7d4f3e-9d38-4a53-8a1e-0d9a1c6c2b12",
        "kind": "loaded",
        "at": now,
        "hold_entry_id": entry["id"],
    }
    said = {"device": "tablet", "sent_at": now, **crew, "reports": [loaded]}
    (row,) = yard.client.post("/reports", json=said).json["reports"]
    assert row["status"] == 200, row
