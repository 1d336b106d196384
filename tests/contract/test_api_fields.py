"""Every field refuses what it does not mean, and says what is allowed."""

import json
import math

import pytest
from flask import Flask
from hypothesis import given
from hypothesis import strategies as st

from service.api.books import sites
from service.api.exchange.bodies import merged
from service.api.exchange.json_form import PlainJson
from tests.worlds import furnish, make_world


@pytest.fixture(scope="module")
def yard():
    return furnish(make_world())


def post_raw(yard, path, body):
    return yard.client.post(path, data=body, content_type="application/json")


def vehicle(yard, **fields):
    return {
        "depot_id": yard.ids["depots"],
        "registration": "AB12 CDE",
        "payload_kg": 1200,
        "body_volume_m3": 6.5,
        **fields,
    }


def only_fault(answer):
    assert answer.status_code == 422, answer.text
    (fault,) = answer.json["errors"]
    return fault


NOT_NUMBERS = ['"3"', "true", "false", "[]", "{}", "null", '"NaN"', '""']
OUT_OF_RANGE = ["-1", "0", "40000.0001", "1e9", "1e400", "-1e400", "1" * 500, "-0.0"]


@pytest.mark.parametrize("literal", [*NOT_NUMBERS, *OUT_OF_RANGE])
def test_a_number_is_a_number_in_its_range(yard, literal):
    body = json.dumps(vehicle(yard, payload_kg="HERE")).replace('"HERE"', literal)
    fault = only_fault(post_raw(yard, "/vehicles", body))
    assert fault["pointer"] == "/payload_kg"
    if literal != "null":
        assert fault["detail"] == "Write a number above 0 to 40,000."


@pytest.mark.parametrize("literal", ["1028.0", "1.028e3", "1028"])
def test_an_integral_number_is_an_integer(yard, literal):
    body = json.dumps(yard.job(minutes_on_site="HERE")).replace('"HERE"', literal)
    assert post_raw(yard, "/jobs", body).json["minutes_on_site"] == 1028


@pytest.mark.parametrize("literal", ["30.5", '"30"', "true", "0", "1441"])
def test_a_broken_number_is_no_integer(yard, literal):
    body = json.dumps(yard.job(minutes_on_site="HERE")).replace('"HERE"', literal)
    fault = only_fault(post_raw(yard, "/jobs", body))
    assert fault["pointer"] == "/minutes_on_site"
    assert fault["detail"] == "Write a whole number from 1 to 1,440."


BAD_MEASURES = {
    "a bare number": (450, "/area_mowed"),
    "text": ("450 m2", "/area_mowed"),
    "no unit": ({"value": 450}, "/area_mowed/unit"),
    "a number as text": ({"value": "450", "unit": "m2"}, "/area_mowed/value"),
    "nothing": ({"value": None, "unit": "m2"}, "/area_mowed/value"),
    "negative": ({"value": -450, "unit": "m2"}, "/area_mowed/value"),
    "a billion": ({"value": 1e9, "unit": "m2"}, "/area_mowed/value"),
    "too many acres": ({"value": 248, "unit": "[acr_us]"}, "/area_mowed/value"),
    "a mass": ({"value": 450, "unit": "kg"}, "/area_mowed/unit"),
    "a bare acre": ({"value": 1, "unit": "acre"}, "/area_mowed/unit"),
    "another case": ({"value": 450, "unit": "M2"}, "/area_mowed/unit"),
    "one more member": ({"value": 1, "unit": "m2", "si": 1}, "/area_mowed/si"),
}


@pytest.mark.parametrize(("measure", "where"), BAD_MEASURES.values(), ids=BAD_MEASURES)
def test_a_measure_is_a_value_in_a_unit_of_its_quantity(yard, measure, where):
    assert (
        only_fault(yard.client.post("/jobs", json=yard.job(area_mowed=measure)))["pointer"] == where
    )


@pytest.mark.parametrize("ton", ["ton", "T", "tons", "tonne", "MT"])
def test_no_bare_ton_is_read_as_one_of_the_three(yard, ton):
    body = yard.job(measured_mass={"value": 1, "unit": ton})
    fault = only_fault(yard.client.post("/jobs", json=body))
    assert fault["pointer"] == "/measured_mass/unit"
    assert fault["detail"] == "Choose one of: kg, g, t, [lb_av], [ston_av], [lton_av]."


@pytest.mark.parametrize(
    ("unit", "kilograms"),
    # NIST SP 811 (2008), appendix B.8: 907.184 74 kg and 1 016.046 909 kg, printed so.
    [("[ston_av]", 907.18474), ("[lton_av]", 1016.046909), ("t", 1000)],
)
def test_the_three_tons_are_three_masses_and_each_is_kept_as_entered(yard, unit, kilograms):
    body = yard.job(measured_mass={"value": 1, "unit": unit})
    job = yard.client.post("/jobs", json=body).json
    assert job["measured_mass"] == {"value": 1, "unit": unit}
    assert job["measured_mass_kg"] == pytest.approx(kilograms, abs=5e-7 * kilograms)


BAD_TIMES = [
    "2026-05-24T10:40:00",
    "2026-05-24",
    "10:40",
    "yesterday",
    "2026-02-30T10:40:00Z",
    "2026-05-24T25:00:00Z",
    "2026-05-24T10:40:60Z",
    "2026-W21-7T10:40:00Z",
    "20260524T104000Z",
    "2026-05-24 10:40:00Z",
    "1626-05-24T10:40:00Z",
    "9999-12-31T23:59:59-12:00",
    "0001-01-01T00:00:00+14:00",
    1779615600,
    None,
]


@pytest.mark.parametrize("moment", BAD_TIMES, ids=str)
def test_a_moment_carries_its_offset(yard, moment):
    fault = only_fault(yard.client.post("/jobs", json=yard.job(cut_at=moment)))
    assert fault["pointer"] == "/cut_at"


def test_a_moment_is_answered_in_utc(yard):
    job = yard.client.post("/jobs", json=yard.job(cut_at="2026-05-24T10:40:00.25+05:30")).json
    assert job["cut_at"] == "2026-05-24T05:10:00.250000Z"


BAD_TEXTS = ["", " ", "\t\n", "a\x00b", "a\x1bb", "a\x85b", "\ud800", "a" * 101, 5, True, ["a"]]


@pytest.mark.parametrize("text", BAD_TEXTS, ids=repr)
def test_text_says_something_and_holds_no_control_characters(yard, text):
    body = {"depot_id": yard.ids["depots"], "name": text}
    fault = only_fault(yard.client.post("/crews", json=body))
    assert fault["pointer"] == "/name"
    assert fault["detail"].endswith("1 to 100 characters.")


def test_text_is_trimmed_and_may_be_in_any_script(yard):
    body = {"depot_id": yard.ids["depots"], "name": "  Załoga 3 \u00a0", "lead": "佐藤 🌱"}
    crew = yard.client.post("/crews", json=body).json
    assert (crew["name"], crew["lead"]) == ("Załoga 3", "佐藤 🌱")


def test_line_breaks_stand_where_a_person_writes_lines_and_nowhere_else(yard):
    assert yard.client.post("/jobs", json=yard.job(remarks="wet\ncorner")).status_code == 201
    body = {"depot_id": yard.ids["depots"], "name": "two\nlines"}
    assert yard.client.post("/crews", json=body).status_code == 422


BAD_POINTS = {
    "a pair": ([-1.25, 51.75], "/point"),
    "no kind": ({"coordinates": [-1.25, 51.75]}, "/point/type"),
    "a line": ({"type": "LineString", "coordinates": [-1.25, 51.75]}, "/point/type"),
    "one number": ({"type": "Point", "coordinates": [51.75]}, "/point/coordinates"),
    "a height": ({"type": "Point", "coordinates": [1, 2, 3]}, "/point/coordinates"),
    "text": ({"type": "Point", "coordinates": ["1", 2]}, "/point/coordinates/0"),
    "the order of maps": ({"type": "Point", "coordinates": [35.7, 139.7]}, "/point/coordinates/1"),
    "beyond the date line": ({"type": "Point", "coordinates": [180.1, 0]}, "/point/coordinates/0"),
    "true": ({"type": "Point", "coordinates": [True, 0]}, "/point/coordinates/0"),
}


@pytest.mark.parametrize(("point", "where"), BAD_POINTS.values(), ids=BAD_POINTS)
def test_a_point_is_geojson_longitude_first(yard, point, where):
    body = {
        "name": "Yard",
        "address": "1 Lane",
        "time_zone": "Europe/London",
        "jurisdiction": "GB-ENG",
        "point": point,
    }
    fault = only_fault(yard.client.post("/depots", json=body))
    assert fault["pointer"] == where
    if "coordinates" in where:
        assert "longitude first" in fault["detail"]


@pytest.mark.parametrize("zone", ["Mars/Base", "../etc/passwd", "UTC+1", "", "/etc/localtime", 5])
def test_a_time_zone_is_one_that_exists(yard, zone):
    body = {
        "name": "Yard",
        "address": "1 Lane",
        "time_zone": zone,
        "jurisdiction": "GB-ENG",
        "point": {"type": "Point", "coordinates": [0, 0]},
    }
    assert only_fault(yard.client.post("/depots", json=body))["pointer"] == "/time_zone"


@pytest.mark.parametrize("named", ["5", "", 5, "0192f0c12b3c7def8123456789abcdef", "{x}", None])
def test_an_id_is_a_uuid(yard, named):
    fault = only_fault(yard.client.post("/crews", json={"depot_id": named, "name": "Crew"}))
    assert fault["pointer"] == "/depot_id"


def test_every_faulty_field_is_named_at_once(yard):
    body = {
        "lawn_id": "5",
        "state": "done",
        "cut_at": "today",
        "area_mowed": {"value": -1, "unit": "m2"},
        "height_removed": {"value": 1, "unit": "furlong"},
        "litter_seen": "no",
        "colour/of~grass": "green",
    }
    answer = yard.client.post("/jobs", json=body)
    assert {fault["pointer"] for fault in answer.json["errors"]} == {
        "/lawn_id",
        "/state",
        "/cut_at",
        "/area_mowed/value",
        "/height_removed/unit",
        "/litter_seen",
        "/crew_id",
        "/vehicle_id",
        "/colour~1of~0grass",
    }
    assert all(fault["detail"] and fault["code"] for fault in answer.json["errors"])


def test_a_name_of_nothing_is_told_beside_faulty_fields(yard):
    nobody = "0192f0c1-2b3c-7def-8123-456789abcdef"
    body = yard.job(crew_id=nobody, litter_seen="no")
    answer = yard.client.post("/jobs", json=body)
    pointers = {fault["pointer"] for fault in answer.json["errors"]}
    assert pointers == {"/crew_id", "/litter_seen"}
    (row,) = yard.client.post("/jobs/batches", json={"jobs": [body]}).json["rows"]
    assert {fault["pointer"] for fault in row["problem"]["errors"]} == pointers


def test_a_contradiction_is_told_beside_an_unknown_field(yard):
    body = vehicle(yard, tare_kg=3000, gross_limit_kg=3500, colour="green")
    answer = yard.client.post("/vehicles", json=body)
    pointers = {fault["pointer"] for fault in answer.json["errors"]}
    assert pointers == {"/payload_kg", "/colour"}


def test_a_cut_ahead_of_the_clock_and_a_height_over_the_grass_are_refused_together(yard):
    body = yard.job(
        cut_at="2026-05-24T12:05:01Z",
        height_before={"value": 50, "unit": "mm"},
        height_removed={"value": 60, "unit": "mm"},
    )
    answer = yard.client.post("/jobs", json=body)
    assert answer.status_code == 422
    pointers = {fault["pointer"] for fault in answer.json["errors"]}
    assert pointers == {"/cut_at", "/height_removed"}


TOGETHER = {
    "a value and its unit": (
        {"area_mowed": {"value": -5, "unit": "acre"}},
        {"/area_mowed/value", "/area_mowed/unit"},
    ),
    "a clock and a lawn": (
        {"cut_at": "2026-05-24T13:00:00Z", "area_mowed": {"value": 50, "unit": "har"}},
        {"/cut_at", "/area_mowed"},
    ),
    "a time, heights, a clock and a mass": (
        {
            "cut_at": None,
            "height_removed": None,
            "height_before": {"value": 30, "unit": "mm"},
            "height_after": {"value": 60, "unit": "mm"},
            "measured_mass": {"value": 90, "unit": "t"},
        },
        {"/cut_at", "/height_after", "/measured_mass/value"},
    ),
    "a lawn beside what cannot be read": (
        {"litter_seen": "no", "area_mowed": {"value": 50, "unit": "har"}},
        {"/litter_seen", "/area_mowed"},
    ),
    "a vehicle of nobody and a clock": (
        {"vehicle_id": "0192f0c1-2b3c-7def-8123-456789abcdef", "cut_at": "2026-05-24T13:00:00Z"},
        {"/vehicle_id", "/cut_at"},
    ),
}


@pytest.mark.parametrize(("said", "pointers"), TOGETHER.values(), ids=TOGETHER)
def test_faults_of_fields_of_the_clock_and_of_the_lawn_are_told_together(yard, said, pointers):
    body = yard.job(**said)
    answer = yard.client.post("/jobs", json=body)
    assert {fault["pointer"] for fault in answer.json["errors"]} == pointers
    (row,) = yard.client.post("/jobs/batches", json={"jobs": [body]}).json["rows"]
    assert {fault["pointer"] for fault in row["problem"]["errors"]} == pointers


def test_a_cut_ahead_of_the_clock_is_told_the_depots_time(yard):
    fault = only_fault(yard.client.post("/jobs", json=yard.job(cut_at="2026-05-25T13:00:00Z")))
    assert fault["detail"] == (
        "A cut lies in the past; by the depot's clock it may be of 13:05 on 24 May 2026 at the "
        "latest."
    )


def test_a_cut_within_the_tolerance_of_the_clock_is_kept(yard):
    body = yard.job(cut_at="2026-05-24T12:04:59Z")
    assert yard.client.post("/jobs", json=body).status_code == 201


BAD_QUERIES = [
    "limit=0",
    "limit=201",
    "limit=5.0",
    "limit=-1",
    "limit=%C2%B2",
    "limit=",
    "limit=1&limit=2",
    "cursor=abc",
    "cursor=%00",
    "cursor=AAAAAAAAAAAAAAAAAAAAA!",
    "depot_id=5",
    "colour=green",
    "state=done",
    "state=planned&state=done",
]


@pytest.mark.parametrize("query", BAD_QUERIES)
def test_a_list_refuses_what_it_cannot_be_asked(yard, query):
    fault = only_fault(yard.client.get(f"/jobs?{query}"))
    assert fault["parameter"].split(".")[0] == query.split("=")[0]


APP = Flask(__name__)
JSON = PlainJson(APP)
numbers = st.floats(allow_nan=False, allow_infinity=False) | st.integers(-(10**14), 10**14)


@given(numbers)
def test_numbers_are_written_with_fifteen_digits_and_read_back_as_they_were(number):
    written = JSON.dumps(number)
    assert json.loads(written) == pytest.approx(number, rel=1e-14, abs=0)


@given(st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=0, max_value=10**9))
def test_what_a_person_enters_is_answered_to_the_digit(entered):
    assert json.loads(JSON.dumps(float(entered))) == float(entered)


def test_what_machines_make_of_a_third_of_nine_tenths_is_not_shown():
    assert JSON.dumps([0.1 + 0.2, 450.0, 1e22, -0.0]) == "[0.3,450,1e+22,0]"


def test_no_number_that_is_none_is_ever_written():
    for value in (math.nan, math.inf):
        with pytest.raises(ValueError, match="not JSON compliant"):
            JSON.dumps(value)


# RFC 7396, appendix A: original, patch, result. Those with a null for a name that is not there
# differ on purpose: the null stays, so that an unknown name is refused.
RFC_7396 = [
    ({"a": "b"}, {"a": "c"}, {"a": "c"}),
    ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
    ({"a": "b"}, {"a": None}, {}),
    ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
    ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
    ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
    ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d", "c": None}}),
    ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
    (["a", "b"], ["c", "d"], ["c", "d"]),
    ({"a": "b"}, ["c"], ["c"]),
    ({"a": "foo"}, None, None),
    ({"a": "foo"}, "bar", "bar"),
    ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
    ([1, 2], {"a": "b"}, {"a": "b"}),
]


@pytest.mark.parametrize(("kept", "patch", "result"), RFC_7396)
def test_a_patch_is_merged_as_the_standard_prints_it(kept, patch, result):
    assert merged(kept, patch) == result


@pytest.mark.parametrize(
    ("code", "words"), [("UK", "Write GB"), ("ZZ", "no country ZZ"), ("GB-XX", "GB-SCT")]
)
def test_a_jurisdiction_that_is_nowhere_is_refused_with_what_was_meant(yard, code, words):
    answer = yard.client.post("/depots", json={**sites.DEPOTS.example, "jurisdiction": code})
    (fault,) = answer.json["errors"]
    assert (fault["pointer"], fault["code"]) == ("/jurisdiction", "jurisdiction_unknown")
    assert words in fault["detail"]
