"""How thick fresh grass may lie: computations, note, verdict and warnings say one thing."""

import pytest

from service.core.materials import Wetness
from tests.holds import DAY, Yard
from tests.journeys.test_http_over_limit import note_of, tipped
from tests.outages import warnings

# What the rules take the air over a layer to be, where nobody knows the weather.
AIR_C = 30
THICK_MM = 250


@pytest.fixture
def yard():
    """Return a yard whose bed has room for a year of what one small lawn yields."""
    yard = Yard()
    yard.patch(yard.bed, {"area": {"value": 400, "unit": "m2"}})
    return yard


def computed(yard, what, **asked):
    answer = yard.client.post(f"/computations/{what}", json={**asked, "day": DAY})
    assert answer.status_code == 200, answer.text
    return answer.json["result"]


@pytest.mark.parametrize("wetness", list(Wetness))
def test_one_depth_is_told_wherever_it_is_asked(yard, wetness):
    layer = computed(
        yard, "layer-safety", depth_mm=THICK_MM, air_temperature_c=AIR_C, wetness=wetness.value
    )
    assert (layer["safe"], layer["runs_away"]) == (False, True)
    assert layer["hours_to_60_c"] < 24
    heap = computed(
        yard,
        "freshness",
        depth_mm=THICK_MM,
        temperature_c=AIR_C,
        wetness=wetness.value,
        open_faces=1,
    )
    clocks = ("hours_to_40_c", "hours_to_60_c", "amber_hours", "red_hours")
    assert {name: heap[name] for name in clocks} == {name: layer[name] for name in clocks}
    room = computed(yard, "bed-room", area_m2=400, wetness=wetness.value)
    job = yard.mow(yard.lawn("Noon"), at="12:30", wetness=wetness.value)
    note = note_of(yard, tipped(yard, job))
    assert room["depth_mm"] == layer["safe_depth_mm"]
    guidance = note["facts"]["guidance"]
    # Wet and dense, a year's kilograms for each square metre lie thinner than that.
    by_year = guidance["binding_limit"] == "ledger"
    assert guidance["depth_mm"] <= layer["safe_depth_mm"] + 0.005
    assert by_year or guidance["depth_mm"] == pytest.approx(layer["safe_depth_mm"], abs=0.005)


def test_lush_grass_that_would_lie_a_quarter_of_a_metre_thick_is_told_on_note_and_to_the_office(
    yard,
):
    job = yard.mow(
        yard.lawn("Lush"),
        at="12:30",
        area_mowed={"value": 440, "unit": "m2"},
        height_removed={"value": 100, "unit": "mm"},
        height_before={"value": 150, "unit": "mm"},
        wetness="lush",
    )
    litres = yard.client.get(f"/jobs/{job}").json["estimate"]["volume_m3"]["likely"] * 1000
    yard.patch(yard.bed, {"area": {"value": litres / THICK_MM, "unit": "m2"}})
    said = yard.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
    (bed,) = [one for one in said if one["destination_kind"] == "bed"]
    load = tipped(yard, job)
    assert bed["accepted_kg"] < load["mass_kg"]["likely"] / 10
    (warning,) = warnings(yard.routing(), "over_limit")
    assert warning["is_likely"]
    guidance = note_of(yard, load)["facts"]["guidance"]
    assert guidance["too_much"] is not None
    assert guidance["depth_mm"] <= 12.7
