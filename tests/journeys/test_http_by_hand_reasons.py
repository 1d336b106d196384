"""What a crew did by hand has no reason of a plan: nobody planned it."""

from tests.holds import Yard


def tipped_in_the_bay(yard):
    """Mow, plan, and tip it in the bay though the plan sends it to a bed; return the job."""
    job = yard.mow(yard.lawn("Front"), at="11:00")
    before = yard.routing()
    yard.world.clock.move(minutes=5)
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "hold_bay",
        "destination_id": yard.ids["hold-bays"],
        "done_at": yard.world.clock.now().isoformat(),
        "parts": [{"job_id": job}],
    }
    yard.post("/loads", tip)
    return before


def test_what_a_crew_brought_to_a_bay_by_itself_is_held_for_that():
    yard = Yard()
    tipped_in_the_bay(yard)
    held_for = yard.entry()["held_for"]
    assert held_for["code"] == "brought_by_hand"
    assert held_for["sentence"].startswith("The crew brought it here; no plan said so.")
    assert "went to other lots" not in held_for["sentence"]


def test_what_no_place_takes_is_held_for_that_whoever_brought_it():
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    job = yard.mow(yard.lawn("Front"), at="11:00", litter_seen=True)
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "hold_bay",
        "destination_id": yard.ids["hold-bays"],
        "done_at": yard.world.clock.now().isoformat(),
        "parts": [{"job_id": job}],
    }
    yard.post("/loads", tip)
    assert yard.entry()["held_for"]["code"] != "brought_by_hand"


def test_a_lot_that_was_tipped_by_hand_moved_for_that_and_for_no_cost():
    yard = Yard()
    before = tipped_in_the_bay(yard)
    plan = yard.routing()
    (moved,) = yard.client.get(f"/day-plans/{plan['id']}/changes").json["moved"]
    assert (moved["code"], before["id"] != plan["id"]) == ("tipped_by_hand", True)
    bay = yard.client.get(f"/hold-bays/{yard.ids['hold-bays']}").json["name"]
    assert moved["why"].startswith(f"It was tipped at {bay} at ")
    today = yard.client.get(f"/vehicles/{yard.ids['vehicles']}/today").json
    assert "costs less" not in " ".join(today["changed"])
