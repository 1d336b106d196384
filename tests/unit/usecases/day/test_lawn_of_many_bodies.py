"""A lawn that fills several bodies is begun once: its hours bind the first of them alone."""

from datetime import time

from service.core.acceptance.hours import OpeningHours
from tests.unit.usecases.day.test_crew_minute import from_hour


def test_a_lawn_that_is_begun_within_its_hours_is_not_late_for_its_second_body(firm):
    firm.site(name="Only", hours=from_hour(6), daily_capacity_kg=90_000.0)
    lawn = firm.lawn(1, area_m2=12_000.0)
    hours = tuple(
        OpeningHours(weekday=day, opens=time(7), closes=time(8), last_load=time(7, 10))
        for day in range(7)
    )
    firm.library.lawns.amend(firm.caller, lawn.id, {"mowing_hours": hours}, expected_version=1)
    firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    told = firm.plan_day()
    stops = [stop for vehicle in told["vehicles"] for stop in vehicle["stops"]]
    assert [stop["kind"] for stop in stops] == ["job", "drop", "drop", "drop"]
    assert not [one for one in told["warnings"] if one["code"].startswith("outside_mowing")]
    assert told["cost_cents"]["late"] == 0
