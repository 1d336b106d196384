"""A hard day: as many decisions as there are matters, and what may hurt somebody first."""

import pytest

from tests.depots import DAY, Depot

# Of each matter its code; in this order: somebody may be hurt, tainted grass, heat, mass, papers.
NOW = [
    "vehicle_may_be_overloaded",
    "do_not_tip",
    "recall",
    "recall_to_call",
    "held_hot",
    "load_stands",
    "load_stands",
    "turned_away",
]
TODAY = ["vehicle_was_overloaded", "ground_word_old"]


def at(clock):
    return f"{DAY}T{clock}:00+01:00"


class HardDay(Depot):
    """Nine vehicles whose first lawns are cut by nine; then everything happens."""

    def __init__(self):
        super().__init__()
        self.plan()
        self.world.clock.move(hours=20, minutes=10)
        for number in range(9):
            self.amend(f"/jobs/{self.jobs[2 * number]}", {"state": "mown", "cut_at": at("09:05")})
        self.world.clock.move(minutes=30)

    def tip(self, number, kind, destination_id=None):
        """Say where a vehicle tipped its first lawn; a bed is the one beside that."""
        job = self.jobs[2 * number]
        body = {
            "vehicle_id": self.vehicles[number][0],
            "destination_kind": kind,
            "destination_id": destination_id or self.bed_beside(2 * number),
            "done_at": self.world.clock.now().isoformat(),
            "parts": [{"job_id": job}],
        }
        return self.keep("/loads", body)

    def bed_beside(self, number):
        home = self.client.get(f"/lawns/{self.lawns[number]}").json["property_id"]
        (bed,) = [
            one["id"]
            for one in self.client.get("/beds?limit=100").json["items"]
            if one["property_id"] == home
        ]
        return bed

    def lot(self, number):
        return self.client.get(f"/jobs/{self.jobs[number]}").json["lot_code"]

    def everything_happens(self):
        site, bay = self.ids["compost-sites"], self.ids["hold-bays"]
        for number in (0, 1):
            out = {"vehicle_id": self.vehicles[number][0], "reason": "Clutch gone."}
            self.keep("/vehicle-outages", out | {"out_since": self.world.clock.now().isoformat()})
        refused = self.tip(2, "bed")
        self.amend(f"/loads/{refused}", {"state": "refused", "refusal_reason": "too much"})
        high_kg = self.client.get(f"/jobs/{self.jobs[6]}").json["estimate"]["mass_kg"]["high"]
        self.amend(f"/jobs/{self.jobs[7]}", {"area_mowed": {"value": 40, "unit": "m2"}})
        self.amend(f"/vehicles/{self.vehicles[3][0]}", {"payload_kg": high_kg * 0.9})
        ticket = {"weighed_net": {"value": round(high_kg), "unit": "kg"}, "weigh_ticket": "W-1"}
        self.amend(f"/loads/{self.tip(3, 'compost_site', site)}", ticket)
        self.amend(f"/lawns/{self.lawns[9]}", {"area": {"value": 45_000, "unit": "m2"}})
        wrong = {"state": "mown", "cut_at": at("09:35"), "area_mowed": {"value": 45_000}}
        wrong["area_mowed"]["unit"] = "m2"
        self.amend(f"/jobs/{self.jobs[9]}", wrong)
        self.tip(5, "bed")
        self.keep("/treatments", treatment(self.lawns[10]))
        self.tip(6, "bed")
        self.keep("/recalls", {"lot_code": self.lot(12), "reason": "A neighbour sprayed it."})
        self.tip(7, "hold_bay", bay)
        (entry,) = self.client.get("/hold-entries?state=in_bay").json["items"]
        reading = {"temperature_c": 68, "depth_mm": 500, "measured_by": "A. Khan"}
        reading |= {"hold_entry_id": entry["id"], "at": self.world.clock.now().isoformat()}
        self.keep("/heap-temperatures", reading)
        self.amend(f"/jobs/{self.jobs[17]}", {"state": "mown", "cut_at": at("09:40")})
        drop = self.first_drop(8)
        self.amend(f"/loads/{drop['load_id']}", {"state": "under_way"})
        self.amend(f"/beds/{drop['destination_id']}", {"consent": {"state": "refused"}})
        shut = {"state": "closed", "as_of": self.world.clock.now().isoformat()}
        self.amend(f"/compost-sites/{site}", {"live_status": shut})

    def first_drop(self, number):
        vehicle_id = self.vehicles[number][0]
        (own,) = [
            one for one in self.read()["routing"]["vehicles"] if one["vehicle_id"] == vehicle_id
        ]
        return next(stop for stop in own["stops"] if stop["kind"] == "drop" and not stop["done"])

    def decisions(self):
        self.read()
        path = f"/days/{DAY}/decisions?depot_id={self.ids['depots']}"
        return self.client.get(path).json["decisions"]


def treatment(lawn):
    return {
        "lawn_id": lawn,
        "product": "Pasture weed control",
        "active_ingredients": ["aminopyralid"],
        "applied_on": "2026-05-10",
        "statement_source": "applicator_record",
        "stated_by": "T. Green",
    }


@pytest.fixture(scope="module")
def listed():
    day = HardDay()
    day.everything_happens()
    return day.decisions(), day.lot(9)


def test_there_are_as_many_decisions_as_matters_and_the_gravest_is_first(listed):
    told, _ = listed
    codes = [(one["urgency"], one["code"]) for one in told if one["urgency"] != "soon"]
    assert codes == [*(("now", code) for code in NOW), *(("today", code) for code in TODAY)]


def test_a_body_that_cannot_hold_what_is_said_asks_first_whether_the_area_is_right(listed):
    told, wrong = listed
    first = f"Look first whether area, height and measured mass of {wrong} are right"
    assert told[0]["sentence"].startswith(first)
    assert told[0]["ways"][0]["what"] == "Correct area, height or measured mass"


def test_what_is_to_be_done_is_said_first(listed):
    begins = {one["code"]: one["sentence"] for one in listed[0]}
    assert begins["recall"].startswith("Call R. Alvarez, +1 555 0100, about ")
    assert begins["recall_to_call"].startswith("Call R. Alvarez, +1 555 0100, who ")
    assert begins["held_hot"].startswith("Turn it, or spread it out thinly")
    assert "have them out by" in begins["load_stands"].partition(";")[0]
    assert "must not tip there" in begins["do_not_tip"].partition(".")[0]


def test_each_has_a_way_and_none_is_told_of_another_vehicles(listed):
    told, _ = listed
    assert all(one["ways"] for one in told)
    stands = [one for one in told if one["code"] == "load_stands"]
    assert len({one["vehicle_id"] for one in stands}) == len(stands)
