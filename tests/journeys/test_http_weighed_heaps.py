"""Two tips of one lot in a bay, of which one was weighed: each counts as itself, wherever it is."""

import pytest

from tests.holds import Yard
from tests.journeys.test_http_closing import sums
from tests.journeys.test_http_unplanned import tip

HEAVIER = 1.5


@pytest.fixture
def yard():
    """Return a yard in whose bay one lot lies in two heaps of the same size."""
    yard = Yard()
    yard.job = yard.mow(yard.lawn("Clean"), at="11:00")
    half = {"job_id": yard.job, "share": 0.5}
    yard.loads = [tip(yard, half, kind="hold_bay", at="2026-05-24T11:00:00Z")]
    yard.loads += [tip(yard, half, kind="hold_bay", at="2026-05-24T11:10:00Z")]
    (yard.half_kg,) = {one["mass_kg"]["likely"] for one in yard.loads}
    held = yard.client.get("/hold-entries?state=in_bay").json["items"]
    of_load = {entry["load_id"]: entry["id"] for entry in held}
    yard.heaps = [of_load[load["id"]] for load in yard.loads]
    yard.world.clock.move(minutes=60)
    return yard


def weigh(yard, load, kg):
    net = {"weighed_net": {"value": round(kg, 3), "unit": "kg"}, "weigh_ticket": load["id"][-9:]}
    yard.patch(f"/loads/{load['id']}", net)


def bring_on(yard, heap):
    """Bring a heap on to the bed, all of it; return the load."""
    body = {
        "state": "released",
        "released_to_kind": "bed",
        "released_to_id": yard.ids["beds"],
        "released_with_id": yard.ids["vehicles"],
    }
    kept = yard.patch(f"/hold-entries/{heap}", body)
    return yard.client.get(f"/loads/{kept['released_load_id']}").json


def counted(yard):
    """Return what counts at each kind of place, by the sums of it and by those of the lot."""
    found = []
    for asked in ("", f"?lot_id={yard.job}"):
        rows = yard.client.get(f"/mass-balances{asked}").json["balances"]
        found.append({one["place_kind"]: one["counted_kg"] for one in rows if one["counted_kg"]})
    assert found[0] == pytest.approx(found[1], abs=0.01)
    return {kind: kg / yard.half_kg for kind, kg in found[0].items() if kind != "lawn"}


def about(**kinds):
    return pytest.approx(kinds, abs=1e-3)


def test_what_was_weighed_in_the_bay_leaves_it_as_it_came(yard):
    weigh(yard, yard.loads[0], yard.half_kg * HEAVIER)
    assert counted(yard) == about(hold_bay=1 + HEAVIER)
    bring_on(yard, yard.heaps[0])
    assert counted(yard) == about(hold_bay=1, bed=HEAVIER)
    bring_on(yard, yard.heaps[1])
    assert counted(yard) == about(bed=1 + HEAVIER)


def test_the_heap_that_was_not_weighed_counts_as_it_was_thought_to_be(yard):
    weigh(yard, yard.loads[0], yard.half_kg * HEAVIER)
    bring_on(yard, yard.heaps[1])
    assert counted(yard) == about(hold_bay=HEAVIER, bed=1)


def test_a_weight_where_it_goes_to_changes_nothing_of_what_stays_in_the_bay(yard):
    load = bring_on(yard, yard.heaps[0])
    weigh(yard, load, yard.half_kg * HEAVIER)
    assert counted(yard) == about(hold_bay=1, bed=HEAVIER)


def test_a_weight_that_comes_late_goes_with_its_heap_and_its_estimate_stays_beside(yard):
    bring_on(yard, yard.heaps[0])
    weigh(yard, yard.loads[0], yard.half_kg * HEAVIER)
    assert counted(yard) == about(hold_bay=1, bed=HEAVIER)
    rows = yard.client.get("/mass-balances").json["balances"]
    estimated = {one["place_kind"]: one["mass_kg"]["likely"] / yard.half_kg for one in rows}
    assert (estimated["hold_bay"], estimated["bed"]) == pytest.approx((1, 1), abs=1e-3)


def test_a_weight_of_one_tip_changes_nothing_of_what_is_still_aboard():
    yard = Yard()
    yard.job = yard.mow(yard.lawn("Clean"), at="11:00")
    first = tip(yard, {"job_id": yard.job, "share": 0.5}, kind="bed", at="2026-05-24T11:00:00Z")
    yard.half_kg = first["mass_kg"]["likely"]
    weigh(yard, first, yard.half_kg * HEAVIER)
    assert counted(yard) == about(vehicle=1, bed=HEAVIER)


def test_a_day_tells_of_a_bay_what_lies_there(yard):
    weigh(yard, yard.loads[0], yard.half_kg * HEAVIER)
    load = bring_on(yard, yard.heaps[0])
    weigh(yard, load, yard.half_kg * 1.4)
    outcome, _ = sums(yard.client, yard.ids, "outcome")
    assert outcome["hold_bay"]["counted_kg"] == pytest.approx(yard.half_kg, abs=0.1)
    assert outcome["bed"]["counted_kg"] == pytest.approx(yard.half_kg * 1.4, abs=0.1)
