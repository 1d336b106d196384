"""Law is called law only where it binds: place, ground, basis, days; else it is advice."""

import pytest

from service.api.books import sites
from tests.journeys.test_http_grazing import Stable

U13 = {
    "kind": "registered_exemption",
    "exemption": "u13",
    "reference": "EX 13",
    "expires_on": "2027-05-01",
}
ONE_YEAR = {"reference": "EX 12", "expires_on": "2027-05-01"}
U12 = {**U13, **ONE_YEAR, "exemption": "u12"}


@pytest.fixture
def stable():
    return Stable()


def at_depot(stable, jurisdiction):
    stable.change(f"/depots/{stable.ids['depots']}", jurisdiction=jurisdiction)


class TestWhatOneExemptionAsks:
    @pytest.mark.parametrize(
        ("basis", "rule_class", "law"),
        [(U13, "law", "binds"), ({**U13, "exemption": None}, "advice", "not_known")],
    )
    def test_fifty_metres_to_water_are_law_where_u13_is_the_basis(
        self, stable, basis, rule_class, law
    ):
        stable.change(stable.bed, legal_basis=basis, water_distance_m=20)
        told = stable.verdict()
        assert (told["code"], told["rule_class"]) == ("too_near_water", rule_class)
        assert told["facts"]["law"] == law
        assert told["facts"]["distance_min_m"] == 50

    def test_they_do_not_bind_a_bed_that_has_another_exemption(self, stable):
        stable.change(stable.bed, legal_basis=U12, water_distance_m=20)
        assert stable.verdict()["accepted_kg"] > 0
        stable.change(stable.bed, water_distance_m=5)
        told = stable.verdict()
        assert (told["rule_class"], told["facts"]["distance_min_m"]) == ("advice", 10)
        assert told["facts"]["law"] == "does_not_bind"

    def test_it_covers_only_what_grew_there(self, stable):
        other = {"client_id": stable.ids["clients"], "name": "Elsewhere", "locality": "Anytown"}
        point = {"type": "Point", "coordinates": [-1.26, 51.76]}
        home = stable.post("/properties", {**other, "address": "2 Lane", "point": point})["id"]
        stable.change(stable.bed, legal_basis=U13, property_id=home)
        told = stable.verdict()
        assert (told["code"], told["rule_class"]) == ("not_grown_here", "law")
        assert told["facts"]["clause"]

    def test_frozen_ground_is_law_there_and_advice_elsewhere(self, stable):
        stable.change(stable.bed, legal_basis=U13, ground_state="frozen")
        assert stable.verdict()["rule_class"] == "law"
        at_depot(stable, "US-OH")
        stable.change(stable.bed, legal_basis={**U13, "exemption": "other"})
        told = stable.verdict()
        assert (told["code"], told["rule_class"]) == ("ground_not_fit", "advice")


class TestNitrogen:
    def test_the_limit_of_a_nitrate_zone_does_not_bind_a_border_in_a_garden(self, stable):
        stable.change(stable.bed, ground_kind="private_garden", legal_basis=U12)
        assert _nitrogen(stable)["law"] == "does_not_bind"

    def test_it_binds_a_holding_in_a_zone(self, stable):
        ground = "farm_holding_in_nitrate_zone"
        stable.change(stable.bed, ground_kind=ground, legal_basis=U12)
        assert _nitrogen(stable)["law"] == "binds"

    def test_where_the_ground_is_not_recorded_nobody_knows_and_somebody_is_named(self, stable):
        stable.change(stable.bed, legal_basis=U12)
        facts = _nitrogen(stable)
        assert (facts["law"], facts["missing"]) == ("not_known", ["ground"])
        assert facts["ask"] == "the Environment Agency"


def _nitrogen(stable):
    """Return the facts of a verdict that the nitrogen limit gives: one on dewy grass."""
    stable.change(f"/jobs/{stable.job}", wetness="dewy")
    told = stable.verdict()
    assert told["code"] == "yearly_nitrogen", told
    return told["facts"]


class TestTheBasisOfABed:
    @pytest.mark.parametrize("kind", ["registered_exemption", "permit"])
    @pytest.mark.parametrize("missing", ["reference", "expires_on"])
    def test_what_is_registered_has_its_reference_and_its_last_day(self, stable, kind, missing):
        basis = {**ONE_YEAR, "kind": kind, missing: None}
        answer = stable.client.patch(
            stable.bed, json={"legal_basis": basis}, headers={"If-Match": "*"}
        )
        assert answer.status_code == 422
        assert answer.json["errors"][0]["pointer"] == f"/legal_basis/{missing}"

    def test_what_has_ended_is_refused_as_law_where_a_basis_is_needed(self, stable):
        stable.change(stable.bed, legal_basis={**U12, "expires_on": "2026-05-23"})
        told = stable.verdict()
        assert (told["code"], told["rule_class"]) == ("legal_basis_expired", "law")

    def test_where_the_law_is_not_known_here_it_says_so_and_whom_to_ask(self, stable):
        stable.change(stable.bed, legal_basis={"kind": "not_established"})
        assert stable.verdict()["rule_class"] == "law"
        at_depot(stable, "US-OH")
        told = stable.verdict()
        assert (told["code"], told["rule_class"]) == ("no_legal_basis", "advice")
        assert told["facts"]["law"] == "not_known"
        assert "environmental agency of the state" in told["sentence"]


class TestPlaces:
    @pytest.mark.parametrize("resource", [sites.DEPOTS, sites.COMPOST_SITES])
    def test_a_jurisdiction_is_asked_for_and_never_assumed(self, stable, resource):
        body = {key: value for key, value in resource.example.items() if key != "jurisdiction"}
        answer = stable.client.post(f"/{resource.path}", json=body)
        assert answer.status_code == 422
        assert answer.json["errors"][0]["pointer"] == "/jurisdiction"

    @pytest.mark.parametrize("place", ["PL", "DE", "IE", "ES-AN"])
    def test_what_the_union_asks_holds_in_its_members(self, stable, place):
        body = {
            "jurisdiction": place,
            "standard": "eu_cmc_3",
            "process": "in_vessel",
            "readings": [{"hour": 0, "temperature_c": 72}, {"hour": 80, "temperature_c": 72}],
            "turnings": 0,
        }
        answer = stable.client.post("/computations/kill", json=body)
        assert answer.status_code != 422 or answer.json.get("code") != "no_kill_requirement"
        assert "no_kill_requirement" not in answer.text

    def test_it_does_not_hold_outside(self, stable):
        body = {
            "jurisdiction": "GB-ENG",
            "standard": "eu_cmc_3",
            "process": "in_vessel",
            "readings": [{"hour": 0, "temperature_c": 72}],
            "turnings": 0,
        }
        assert "no_kill_requirement" in stable.client.post("/computations/kill", json=body).text


def test_every_row_of_law_says_whom_it_binds_and_where(stable):
    rows = stable.client.get("/rules?kind=law").json["items"]
    assert rows
    for row in rows:
        assert row["jurisdiction"], row
        assert set(row["binds"]) == {"ground", "basis", "carriers"}, row
        assert "grundy-1998" not in row["sources"]


@pytest.mark.parametrize("jurisdiction", ["GB-SCT", "DE-BY", "US-NJ", "FR"])
def test_an_exemption_of_england_and_wales_opens_no_bed_elsewhere(stable, jurisdiction):
    stable.change(stable.bed, legal_basis=U12)
    assert stable.verdict()["accepted_kg"] > 0
    at_depot(stable, jurisdiction)
    told = stable.verdict()
    assert (told["code"], told["accepted_kg"]) == ("exemption_of_elsewhere", 0)
    assert told["rule_class"] != "law"
    assert "Ask " in told["sentence"]
    stable.change(stable.bed, legal_basis={**U12, "exemption": "other"})
    assert stable.verdict()["code"] != "exemption_of_elsewhere"
