"""A long day of several vehicles, and a vehicle whose record changes: said once, and why."""

import random

from tests.depots import DAY, Depot
from tests.outages import changes, warnings


def long_day():
    """Return a depot with more to mow than its shift has hours."""
    depot = Depot(vehicles=3)
    depot.plan()
    for number in range(3):
        for hour in (14, 15, 16):
            lawn = depot.lawn(random.Random(10 * number + hour))  # noqa: S311 - repeatable, no secret
            fields = {"minutes_on_site": 240}
            depot.jobs.append(depot.job(number, lawn, hour=hour, **fields)["id"])
    return depot


def test_several_vehicles_that_are_back_long_after_the_shift_are_one_matter():
    depot = long_day()
    late = warnings(depot.read(), "long_after_shift")
    assert len(late) > 1
    asked = f"/days/{DAY}/decisions?depot_id={depot.ids['depots']}"
    found = depot.client.get(asked).json["decisions"]
    (told,) = [one for one in found if one["code"] == "long_after_shift"]
    assert all(one["why"].partition(".")[0] in told["sentence"] for one in late)
    assert told["sentence"].count("The shift ends at 17:30") == 1


def test_a_load_that_moves_since_its_vehicle_may_carry_another_mass_says_so():
    depot = long_day()
    depot.read()
    vehicle = depot.vehicles[1][0]
    depot.amend(f"/vehicles/{vehicle}", {"payload_kg": 60})
    moved = changes(depot, depot.read()).values()
    assert {one["code"] for one in moved} == {"vehicle_otherwise"}
    assert all("V01 may carry 60 kg by its record now" in one["why"] for one in moved)
