"""How sure a day's plan is, as its routing tells it."""

import pytest

from service.core.loads import LoadState
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from tests.firms import DAY, make_firm

AREA_M2 = 900.0


@pytest.fixture(scope="module")
def high_kg():
    """Return the high end of what a job on a lawn of that area gives."""
    other = make_firm()
    crew = other.crew(other.vehicle())
    job = other.jobs.create(other.caller, other.job(other.lawn(1, area_m2=AREA_M2), crew))
    return job.estimate.mass_kg.high


def told(routing, code):
    return [warning for warning in routing["warnings"] if warning["code"] == code]


@pytest.mark.parametrize(("spare", "warned"), [(1.001, True), (1.8, False)])
def test_a_vehicle_planned_to_the_brim_is_told_as_a_risk(firm, high_kg, spare, warned):
    lawn = firm.lawn(1, area_m2=AREA_M2)
    firm.site()
    payload_kg = high_kg * spare + 1.0
    crew = firm.crew(firm.vehicle(payload_kg=payload_kg, body_volume_m3=30.0))
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    routing = firm.plan_day()
    (vehicle,) = routing["vehicles"]
    # One lot alone is above its 90th percentile once in ten days.
    expected = pytest.approx(0.1, abs=0.01) if warned else pytest.approx(0.02, abs=0.02)
    assert vehicle["payload_overflow_chance"] == expected
    assert vehicle["body_overflow_chance"] == 0.0
    found = told(routing, "vehicle_may_overflow")
    assert bool(found) is warned
    for warning in found:
        assert warning["vehicle_id"] == vehicle["vehicle_id"]
        chance = vehicle["payload_overflow_chance"]
        assert warning["payload_overflow_chance"] == chance
        assert f"on about {chance * 100:.0f} heavier than it may be" in warning["why"]
        assert "fuller than its body" not in warning["why"]


def test_what_is_aboard_already_counts(firm, high_kg):
    lawn = firm.lawn(1, area_m2=AREA_M2)
    firm.site()
    payload_kg = high_kg * 0.6
    crew = firm.crew(firm.vehicle(payload_kg=payload_kg, body_volume_m3=30.0))
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    routing = firm.plan_day()
    (vehicle,) = routing["vehicles"]
    assert 0.2 < vehicle["payload_overflow_chance"] < 0.6
    assert told(routing, "vehicle_may_be_overloaded")
    assert told(routing, "vehicle_may_overflow") == []  # told once
    (load,) = firm.all_loads()
    firm.loads(firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version)
    again = firm.routing(firm.caller, firm.depot_id, DAY).routing
    (vehicle,) = again["vehicles"]
    assert vehicle["payload_overflow_chance"] == 0.0


def test_what_was_weighed_is_no_risk(firm):
    lawn = firm.lawn(1, area_m2=AREA_M2)
    firm.site()
    crew = firm.crew(firm.vehicle(payload_kg=150.0, body_volume_m3=30.0))
    firm.jobs.create(
        firm.caller, firm.mown(lawn, crew, measured_mass=Measure(value=149.0, unit="kg"))
    )
    (vehicle,) = firm.plan_day()["vehicles"]
    assert vehicle["payload_overflow_chance"] == 0.0


def test_a_bed_that_gets_all_it_takes_is_overfull_about_once_in_ten_days(firm, high_kg):
    lawn = firm.lawn(1, area_m2=AREA_M2)
    consent = Consent(state=ConsentState.GIVEN, mass_per_visit_max_kg=high_kg + 1.0)
    bed = firm.bed(lawn, area_m2=400.0, consent=consent)
    crew = firm.crew(firm.vehicle())
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    routing = firm.plan_day()
    rows = {row["destination_id"]: row["overflow_chance"] for row in routing["destinations"]}
    assert rows.pop(str(bed.id)) == pytest.approx(0.1, abs=0.01)
    assert set(rows.values()) == {0.0}
    assert not told(routing, "destination_may_overflow")


def test_a_site_that_gets_all_it_takes_is_told_as_a_risk(firm, high_kg):
    lawn = firm.lawn(1, area_m2=AREA_M2)
    site = firm.site(daily_capacity_kg=high_kg + 1.0)
    crew = firm.crew(firm.vehicle())
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    (warning,) = told(firm.plan_day(), "destination_may_overflow")
    assert (warning["vehicle_id"], warning["destination_id"]) == (None, str(site.id))
    assert warning["overflow_chance"] == pytest.approx(0.1, abs=0.01)
    assert f"on about 10 {site.name} would get more than it has room" in warning["why"]


def test_what_the_chances_mean_is_said_beside_them(firm):
    meaning = firm.plan_day()["overflow"]
    assert meaning["correlation"] == 0.6
    assert meaning["warned_above"] == {
        "vehicle": 0.05,
        "bed": 0.1,
        "compost_site": 0.05,
        "hold_bay": 0.05,
    }
    assert meaning["sources"] == ["common-practice"]
    assert "payload" in meaning["vehicles"]
