"""Of what a depth is, grass alone or a mixture, is said where it is asked, and is one answer."""

import pytest

from tests.worlds import furnish, make_world


@pytest.fixture(scope="module")
def client():
    return furnish(make_world()).client


def asked(client, path, **question):
    answer = client.post(f"/computations/{path}", json={**question, "day": "2026-05-24"})
    assert answer.status_code == 200, answer.text
    return answer.json["result"]


@pytest.mark.parametrize(
    ("path", "words"), [("layer-safety", "whole layer"), ("soured-bed", "before any leaves")]
)
def test_the_contract_says_of_what_a_depth_is(client, path, words):
    document = client.get("/openapi.json").json
    operation = document["paths"][f"/computations/{path}"]["post"]
    (body,) = operation["requestBody"]["content"].values()
    name = body["schema"]["$ref"].rpartition("/")[2]
    asked = document["components"]["schemas"][name]["properties"]["depth_mm"]
    assert words in asked["description"]


def test_the_half_inch_of_practice_is_asked_of_a_mixture_too(client):
    """12.7 mm is half an inch; leaves in it make no deeper layer safe by practice."""
    weather = {"air_temperature_c": 15, "wetness": "dry", "depth_mm": 20}
    for browns in (0, 2):
        told = asked(client, "layer-safety", browns_per_green=browns, **weather)
        assert told["safe_depth_mm"] <= 12.7
        assert told["safe"] is False


def test_what_of_a_soured_bed_is_carried_off_is_counted_before_leaves_are_forked_in(client):
    told = asked(client, "soured-bed", area_m2=10, depth_mm=10, wetness="dry")
    assert told["surplus_kg"] == 0
    # Two volumes of leaves to one of what lies: 10 m2 at 10 mm are 100 L of clippings.
    assert told["browns_litres"] == pytest.approx(200)
