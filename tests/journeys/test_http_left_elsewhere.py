"""A vehicle that was left elsewhere overnight starts there, and is asked about till it is said."""

import pytest

from tests.crews import DAY
from tests.holds import Yard

NEXT_DAY = "2026-05-25"
# Some 30 km to the north of the yard.
FAR = {"type": "Point", "coordinates": [-1.27, 52.03]}


@pytest.fixture
def yard():
    yard = Yard()
    yard.vehicle = f"/vehicles/{yard.ids['vehicles']}"
    return yard


def first_stop(yard, day):
    (own,) = yard.routing(day)["routing"]["vehicles"]
    return next(stop for stop in own["stops"] if not stop["done"])


def test_it_starts_where_it_was_left_and_not_in_the_yard(yard):
    yard.plan_to_mow(yard.lawn("Front"), planned_at=f"{NEXT_DAY}T09:00:00+01:00")
    near = first_stop(yard, NEXT_DAY)["at"]
    left = {"parked_point": FAR, "parked_at": f"{DAY}T12:30:00+01:00"}
    yard.world.clock.move(minutes=60)
    yard.patch(yard.vehicle, left)
    far = first_stop(yard, NEXT_DAY)["at"]
    # At 30 km/h and more way than the crow flies it is over an hour on the road.
    assert far > near
    assert int(far[11:13]) >= int(near[11:13]) + 1


def test_what_it_did_since_is_where_it_is(yard):
    yard.mow(yard.lawn("Front"), at="11:00")
    here = first_stop(yard, DAY)["at"]
    left = {"parked_point": FAR, "parked_at": f"{DAY}T08:00:00+01:00"}
    yard.patch(yard.vehicle, left)
    assert first_stop(yard, DAY)["at"] == here


def test_of_days_before_it_says_nothing(yard):
    left = {"parked_point": FAR, "parked_at": f"{DAY}T08:00:00+01:00"}
    yard.patch(yard.vehicle, left)
    yard.world.clock.move(minutes=60)
    yard.plan_to_mow(yard.lawn("Front"), planned_at=f"{NEXT_DAY}T09:00:00+01:00")
    assert first_stop(yard, NEXT_DAY)["at"] < f"{NEXT_DAY}T09:00"


def test_a_vehicle_that_waits_for_its_repair_goes_on_from_where_it_stands(yard):
    yard.plan_to_mow(yard.lawn("Front"), at="15:00")
    out = {"vehicle_id": yard.ids["vehicles"], "reason": "Gearbox.", "point": FAR}
    out |= {"out_since": f"{DAY}T13:00:00+01:00", "back_at": f"{DAY}T14:00:00+01:00"}
    yard.post("/vehicle-outages", out)
    assert first_stop(yard, DAY)["at"] > f"{DAY}T15:00"


def test_with_grass_aboard_overnight_the_office_is_asked_where_it_stands(yard):
    yard.mow(yard.lawn("Front"), at="11:00")
    yard.world.clock.move(minutes=20 * 60)

    def asked():
        told = yard.routing(NEXT_DAY)["routing"]["warnings"]
        (overnight,) = [one for one in told if one["code"] == "aboard_overnight"]
        return "By the plan it stands in the yard" in overnight["why"]

    assert asked()
    yard.patch(yard.vehicle, {"parked_point": FAR, "parked_at": f"{DAY}T18:00:00+01:00"})
    assert not asked()


def test_where_and_when_are_said_together_and_not_ahead(yard):
    late = {"parked_at": "2026-06-24T12:00:00Z"}
    refused = yard.patch(yard.vehicle, late, 422)
    assert {one["pointer"] for one in refused["errors"]} == {"/parked_point", "/parked_at"}
