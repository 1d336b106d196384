"""What is told by code and facts comes in the language that was asked for, or in English."""

import pytest

from tests.journeys.test_http_before_mowing import BASIS
from tests.journeys.test_http_grazing import DAY, Stable

OTHERS = ("es", "fr", "pl", "pt", "ro")
CONSENT = {"state": "given", "given_on": "2026-01-01"}
# What is changed of a bed, and the code of what it then says.
BEDS = [
    ({}, "layer_depth"),
    ({"consent": {"state": "refused"}}, "no_consent"),
    ({"consent": {**CONSENT, "given_on": "2026-06-01"}}, "consent_not_yet"),
    ({"consent": {**CONSENT, "expires_on": "2026-05-01"}}, "consent_expired"),
    ({"animals_beside": ["horses"]}, "grazing_animals_in_reach"),
    ({"legal_basis": {"kind": "not_established"}}, "no_legal_basis"),
    ({"legal_basis": {**BASIS, "expires_on": "2026-05-01"}}, "legal_basis_expired"),
    ({"ground_state": "frozen"}, "ground_not_fit"),
    ({"drainage": "poor"}, "drainage_not_fit"),
    ({"drainage": "unknown"}, "drainage_unknown"),
    ({"water_distance_m": None}, "water_distance_unknown"),
    ({"water_distance_m": 2}, "too_near_water"),
    ({"slope_percent": 80}, "too_steep"),
    ({"water_protection_zone": True}, "in_water_protection_zone"),
    ({"organic_certified": True}, "organic_certifier_first"),
]


@pytest.fixture(scope="module")
def stable():
    return Stable()


def verdicts(stable, **headers):
    answer = stable.client.get(f"/jobs/{stable.job}/verdicts", headers=headers)
    assert answer.status_code == 200, answer.text
    return answer


def said(answer):
    return {verdict["destination_id"]: verdict["sentence"] for verdict in answer.json["verdicts"]}


@pytest.mark.parametrize(("change", "code"), BEDS, ids=[code for _, code in BEDS])
def test_what_a_place_says_is_said_in_every_language(stable, change, code):
    before = stable.client.get(stable.bed).json
    stable.change(stable.bed, **change)
    english = verdicts(stable)
    assert stable.verdict()["code"] == code
    for language in OTHERS:
        other = verdicts(stable, **{"Accept-Language": language})
        assert other.headers["Content-Language"] == language
        assert "Accept-Language" in other.headers["Vary"]
        assert not set(said(other).values()) & set(said(english).values())
    stable.change(stable.bed, **{name: before.get(name) for name in change})


def test_without_a_wish_or_with_one_that_nobody_knows_it_is_english(stable):
    plain = verdicts(stable)
    assert plain.headers["Content-Language"] == "en"
    assert verdicts(stable, **{"Accept-Language": "xx, tlh;q=0.5"}).json == plain.json
    there = verdicts(stable, **{"Accept-Language": "es-MX, en;q=0.5"})
    assert there.headers["Content-Language"] == "es"


def test_the_question_before_mowing_is_answered_in_the_crews_words(stable):
    lawn, depot = stable.ids["lawns"], stable.ids["depots"]
    query = {"depot_id": depot, "treatment_history": "none_recorded", "drought": "true"}
    told = [
        stable.client.get(
            f"/lawns/{lawn}/pre-mow-check",
            query_string=query,
            headers={"Accept-Language": language},
        ).json
        for language in ("en", *OTHERS)
    ]
    sentences = [answer["sentence"] for answer in told]
    assert len(set(sentences)) == len(sentences)
    assert "sequía" in sentences[1]
    undecided = [[one["sentence"] for one in answer["undecided"]] for answer in told]
    assert all(set(undecided[0]).isdisjoint(other) for other in undecided[1:])


def test_a_routing_in_another_language_is_kept_apart_by_its_tag(stable):
    address = f"/days/{DAY}/routing?depot_id={stable.ids['depots']}"
    english = stable.client.get(address)
    polish = stable.client.get(address, headers={"Accept-Language": "pl"})
    assert english.headers["ETag"] != polish.headers["ETag"]
    assert polish.headers["Content-Language"] == "pl"
    assert polish.json["id"] == english.json["id"]
