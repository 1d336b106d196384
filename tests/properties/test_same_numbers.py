"""One lot weighs as much by every answer: computation, record, verdict, check, plan and vehicle."""

from math import ceil

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.crews import DAY, drops
from tests.effort import examples
from tests.holds import Yard

GRASS = ("dry", "dewy", "rained_on", "lush", "unknown")


@settings(max_examples=examples(40))
@given(
    area_m2=st.integers(20, 440),
    removed_mm=st.integers(10, 60),
    wetness=st.sampled_from(GRASS),
    is_mown=st.booleans(),
)
def test_a_lot_weighs_as_much_by_every_answer(area_m2, removed_mm, wetness, is_mown):
    yard = Yard()
    yard.patch(yard.bed, {"area": {"value": 5000, "unit": "m2"}})
    lawn = yard.lawn("Front")
    said = {
        "area_mowed": {"value": area_m2, "unit": "m2"},
        "height_removed": {"value": removed_mm, "unit": "mm"},
        "wetness": wetness,
    }
    job = yard.mow(lawn, at="11:00", **said) if is_mown else yard.plan_to_mow(lawn, **said)
    kept = yard.client.get(f"/jobs/{job}").json
    asked = {"area_m2": area_m2, "height_removed_mm": removed_mm, "wetness": wetness, "day": DAY}
    asked["grass_kind"] = kept["grass_kind"]
    computed = yard.client.post("/computations/estimate", json=asked).json["result"]["mass_kg"]
    estimated = kept["estimate"]["mass_kg"]
    assert {end: computed[end] for end in ("low", "likely", "high")} == {
        end: estimated[end] for end in ("low", "likely", "high")
    }
    plan = yard.routing()
    (lot,) = plan["routing"]["lots"]
    (vehicle,) = plan["routing"]["vehicles"]
    told = {
        "verdict": yard.client.get(f"/jobs/{job}/verdicts").json["mass_kg"]["high"],
        "plan": lot["mass_kg"]["high"],
    }
    tips = drops(plan)
    if len(tips) == 1:
        told["tip"] = tips[0]["mass_kg"]["high"]
    if is_mown:
        told["aboard"] = vehicle["aboard_now"]["mass_high_kg"]
    else:
        check = f"/lawns/{lawn}/pre-mow-check?depot_id={yard.ids['depots']}"
        told["check"] = yard.client.get(check).json["mass_kg"]["high"]
    # What is told of the record has four digits: of a tenth of a kilogram nobody drives twice.
    assert set(told.values()) == {told["plan"]}, told
    assert abs(told["plan"] - ceil(estimated["high"])) <= 1
