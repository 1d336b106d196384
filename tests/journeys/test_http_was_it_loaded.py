"""A heap that was to be fetched on the way counts as gone from its bay once somebody says so."""

import pytest

from tests.holds import DAY
from tests.loading import Loading
from tests.outages import stops

CODE = "was_it_loaded"
NEXT_DAY = "2026-05-25"


class Fetching(Loading):
    """A heap in the bay that is to be tipped with a fresh cut, in one load."""

    def __init__(self):
        super().__init__()
        self.fresh = self.mow(self.lawn("Fresh"), at="13:20")
        plan = self.routing()
        assert stops(plan, "load_held"), plan["routing"]["vehicles"]
        self.planned = self.drop()
        self.world.clock.move(minutes=20)

    def tipped(self, **fields):
        """Tip where it is planned, with no word of the bay; return the answer."""
        place = {name: self.planned[name] for name in ("destination_kind", "destination_id")}
        return self.say("tipped", **place, **fields)

    def asked(self):
        about = f"/days/{DAY}/decisions?depot_id={self.ids['depots']}"
        found = self.client.get(about).json["decisions"]
        return [one for one in found if one["code"] == CODE]


@pytest.fixture
def yard():
    return Fetching()


@pytest.mark.parametrize("is_named", [True, False])
def test_a_heap_of_which_nobody_said_that_it_was_loaded_lies_in_its_bay_and_is_asked_after(
    yard, is_named
):
    fields = {"load_id": yard.planned["load_id"]} if is_named else {}
    row = yard.tipped(**fields)
    (warning,) = [one for one in row["warnings"] if one["code"] == CODE]
    assert warning["sentence"] in row["sentence"]
    assert "nobody said that it was loaded" in warning["sentence"]
    load = yard.client.get(f"/loads/{row['load_id']}").json
    assert [part["job_id"] for part in load["parts"]] == [yard.fresh]
    assert yard.at() == {"hold_bay": 1.0}
    assert [one["hold_entry_id"] for one in yard.queue()] == [yard.entry_id]
    yard.routing()
    (asked,) = yard.asked()
    assert (asked["hold_entry_id"], asked["urgency"]) == (yard.entry_id, "now")
    assert {way["href"] for way in asked["ways"]} == {"/heap-temperatures", "/reports"}
    yard.checked()


def test_whoever_measures_the_heap_in_its_bay_has_said_that_it_lies_there(yard):
    yard.tipped()
    yard.world.clock.move(minutes=5)
    measured = {
        "hold_entry_id": yard.entry_id,
        "temperature_c": 41,
        "depth_mm": 600,
        "at": yard.world.clock.now().isoformat(),
        "measured_by": "A. Reed",
    }
    answer = yard.client.post("/heap-temperatures", json=measured)
    assert answer.status_code == 201, answer.text
    assert yard.asked() == []
    assert yard.at() == {"hold_bay": 1.0}


def test_whoever_says_that_it_was_tipped_too_has_it_at_the_place(yard):
    before = yard.world.clock.now().isoformat()
    yard.world.clock.move(minutes=5)
    row = yard.tipped()
    tip = yard.client.get(f"/loads/{row['load_id']}").json
    yard.say("loaded", hold_entry_id=yard.entry_id, at=before)
    place = {name: tip[name] for name in ("destination_kind", "destination_id")}
    parts = [{"hold_entry_id": yard.entry_id, "job_id": yard.job}]
    yard.say("tipped", at=tip["done_at"], parts=parts, **place)
    assert yard.asked() == []
    assert yard.at() == {yard.planned["destination_kind"]: 1.0}
    yard.checked()


def test_of_a_heap_that_was_said_to_be_loaded_nothing_is_asked(yard):
    yard.load()
    yard.routing()
    row = yard.say(
        "tipped",
        destination_kind=yard.planned["destination_kind"],
        destination_id=yard.planned["destination_id"],
    )
    assert row["warnings"] == []
    assert yard.asked() == []
    assert yard.at() == {yard.planned["destination_kind"]: 1.0}


def test_who_sets_off_with_a_fresh_cut_has_not_said_that_the_heap_is_loaded(yard):
    yard.say("set_off", load_id=yard.planned["load_id"])
    assert yard.at() == {"hold_bay": 1.0}
    yard.world.clock.move(minutes=5)
    row = yard.tipped(load_id=yard.planned["load_id"])
    assert CODE in [one["code"] for one in row["warnings"]]
    load = yard.client.get(f"/loads/{row['load_id']}").json
    assert [part["job_id"] for part in load["parts"]] == [yard.fresh]
    assert yard.at() == {"hold_bay": 1.0}
    yard.checked()
