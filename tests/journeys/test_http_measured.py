"""What a crew weighed or measured out is as sure as its density, whatever stood on the lawn."""

import pytest

from service.core.materials import Wetness
from service.rules.lookup import Rulebook
from tests.builders import DAY
from tests.worlds import furnish, make_world

BASIS = {"kind": "registered_exemption", "reference": "EX 1", "expires_on": "2027-05-01"}
LOOSE = Rulebook.load().value_on("bulk_density_kg_per_m3", DAY, packing="loose")
KG, LITRES = 50.0, 200.0


@pytest.fixture
def yard():
    yard = furnish(make_world())
    lawful = yard.client.patch(
        f"/beds/{yard.ids['beds']}", json={"legal_basis": BASIS}, headers={"If-Match": "*"}
    )
    assert lawful.status_code == 200, lawful.text
    return yard


def mown(yard, **measured):
    """Return a job of dry grass, what its bed says to it, and the one load it makes."""
    kept = yard.client.post("/jobs", json=yard.job(**measured)).json
    verdicts = yard.client.get(f"/jobs/{kept['id']}/verdicts").json["verdicts"]
    (bed,) = [one for one in verdicts if one["destination_kind"] == "bed"]
    wanted = {"depot_id": yard.ids["depots"], "day": "2026-05-24"}
    assert yard.client.post("/day-plans", json=wanted).status_code == 201
    (load,) = yard.client.get("/loads").json["items"]
    return kept["estimate"], bed, load


def ends(estimate):
    return estimate["low"], estimate["high"]


def test_a_weighed_lot_takes_the_room_that_its_density_says_and_not_that_of_all_lawns(yard):
    estimate, _, load = mown(yard, measured_mass={"value": KG, "unit": "kg"})
    assert ends(load["mass_kg"]) == (KG, KG)
    assert ends(load["volume_m3"]) == pytest.approx((KG / LOOSE.high, KG / LOOSE.low), rel=1e-3)
    assert estimate["mass_kg"]["high"] > estimate["mass_kg"]["likely"]


def test_a_lot_measured_out_weighs_what_its_density_says(yard):
    _, _, load = mown(yard, measured_volume={"value": LITRES, "unit": "L"})
    cubic_metres = LITRES / 1000
    assert ends(load["volume_m3"]) == pytest.approx((cubic_metres, cubic_metres))
    assert ends(load["mass_kg"]) == pytest.approx(
        (cubic_metres * LOOSE.low, cubic_metres * LOOSE.high), rel=1e-3
    )


def test_a_lot_both_weighed_and_measured_has_nothing_in_doubt_but_its_nitrogen(yard):
    measured = {"measured_mass": {"value": KG, "unit": "kg"}}
    measured |= {"measured_volume": {"value": LITRES, "unit": "L"}}
    _, _, load = mown(yard, **measured)
    assert ends(load["mass_kg"]) == (KG, KG)
    assert ends(load["volume_m3"]) == pytest.approx((LITRES / 1000, LITRES / 1000))
    assert load["nitrogen_kg"]["low"] < load["nitrogen_kg"]["high"]


def test_a_bed_that_holds_fifty_kilograms_takes_the_fifty_that_were_weighed(yard):
    # 12.7 mm on 30 m2 is 381 litres: 56 kg of the lightest dry grass.
    _, bed, load = mown(yard, measured_mass={"value": KG, "unit": "kg"})
    assert bed["accepted_kg"] >= KG
    assert load["destination_kind"] == "bed"


def test_weighed_grass_holds_no_more_nitrogen_than_grass_can(yard):
    _, _, load = mown(yard, measured_mass={"value": KG, "unit": "kg"})
    rules = Rulebook.load()
    water = rules.value_on("clipping_moisture", DAY, wetness="dry")
    share = rules.value_on("clipping_nitrogen_fraction_of_dry_matter", DAY)
    assert load["nitrogen_kg"]["high"] < KG * (1 - water.low) * share.high
    assert load["nitrogen_kg"]["likely"] == pytest.approx(
        KG * (1 - water.likely) * share.likely, rel=0.1
    )


@pytest.mark.parametrize("wetness", Wetness)
@pytest.mark.parametrize("weighed", [False, True])
def test_a_bed_takes_as_much_in_a_computation_as_in_a_verdict_and_before_mowing(
    yard, wetness, weighed
):
    measured = {"measured_mass": {"value": KG, "unit": "kg"}} if weighed else {}
    kept = yard.client.post("/jobs", json=yard.job(wetness=wetness, **measured)).json
    verdicts = yard.client.get(f"/jobs/{kept['id']}/verdicts").json["verdicts"]
    (bed,) = [one for one in verdicts if one["destination_kind"] == "bed"]
    asked = {
        "area_m2": yard.client.get(f"/beds/{yard.ids['beds']}").json["area_m2"],
        "grass_kind": kept["grass_kind"],
        "wetness": wetness,
        "weighed": weighed,
        "jurisdiction": "GB-ENG",
    }
    room = yard.client.post("/computations/bed-room", json=asked).json["result"]
    assert room["binding"] == bed["code"]
    # A verdict tells its room in whole kilograms, rounded down.
    assert bed["accepted_kg"] <= room["mass_kg"] < bed["accepted_kg"] + 1.01
    if not weighed:
        words = {"depot_id": yard.ids["depots"], "treatment_history": "none_recorded"}
        check = yard.client.get(
            f"/lawns/{yard.ids['lawns']}/pre-mow-check",
            query_string={**words, "wetness": wetness, "collect_wanted": "true"},
        ).json
        (willing,) = [one for one in check["willing"] if one["destination_kind"] == "bed"]
        assert willing["accepted_kg"] == bed["accepted_kg"]
