"""Computations, rules and reasons over HTTP, over both databases."""

import json
from uuid import UUID

import pytest

from service.api.desk.catalogue import COMPUTATIONS
from service.core.callers.access import Role
from tests.vectors import PATH
from tests.worlds import furnish, make_world

SMALL = {"value": 60, "unit": "m2"}
ANY_VERSION = {"If-Match": "*"}


@pytest.fixture
def firm_id(world):
    return world.firm()


@pytest.fixture
def yard(world, firm_id):
    return furnish(world, firm_id)


@pytest.fixture(scope="module")
def desk():
    """Return a client of a firm without records: computations need none."""
    world = make_world()
    return world.client(world.firm())


@pytest.fixture
def client(yard):
    return yard.client


def asked(client, path, **body):
    answer = client.post(f"/computations/{path}", json={"day": "2026-05-24", **body})
    assert answer.status_code == 200, answer.text
    return answer.json["result"]


def refused(client, path, **body):
    answer = client.post(f"/computations/{path}", json={"day": "2026-05-24", **body})
    assert answer.status_code == 422, answer.text
    return answer.json


def pointers(problem):
    return {(fault["pointer"], fault["code"]) for fault in problem["errors"]}


def test_each_computation_answers_its_example_as_the_contract_shows_it(desk):
    paths = desk.get("/openapi.json").json["paths"]
    for asking in COMPUTATIONS:
        answer = desk.post(f"/computations/{asking.path}", json=dict(asking.example))
        assert answer.status_code == 200, answer.text
        said = paths[f"/computations/{asking.path}"]["post"]["responses"]["200"]
        shown = said["content"]["application/json"]["example"]
        assert answer.json["result"] == shown["result"]
        why = answer.json["why"]
        assert why["sources"]
        assert {key for rule in why["rules"] for key in rule["sources"]} <= set(why["sources"])


@pytest.mark.parametrize("role", Role)
def test_every_role_may_ask_and_nobody_without_a_key(world, firm_id, role):
    body = {"area_m2": 450, "height_removed_mm": 25}
    theirs = world.client(firm_id, role)
    assert theirs.post("/computations/estimate", json=body).status_code == 200
    assert theirs.get("/rules").status_code == 200
    nobody = world.app.test_client()
    assert nobody.post("/computations/estimate", json=body).status_code == 401
    assert nobody.get("/rules").status_code == 401


def test_a_quantity_may_be_entered_in_its_own_unit(desk):
    plain = asked(desk, "estimate", area_m2=4046.8564224, height_removed_mm=25.4)
    in_acres = asked(
        desk,
        "estimate",
        area={"value": 43560, "unit": "[sft_i]"},
        height_removed={"value": 1, "unit": "[in_i]"},
    )
    assert in_acres["mass_kg"] == plain["mass_kg"]


def test_half_an_inch_of_dry_clippings_is_not_more_than_half_an_inch(desk):
    half_an_inch = {"value": 0.5, "unit": "[in_i]"}
    told = asked(desk, "layer-safety", depth=half_an_inch, air_temperature_c=20, wetness="dry")
    assert told["safe"] is True
    assert told["safe_depth_mm"] == 12.7


def test_every_fault_of_a_question_is_named_at_once(desk):
    problem = refused(
        desk,
        "estimate",
        area_m2=450,
        area=SMALL,
        height_before_mm=-1,
        wetness="soggy",
        colour="green",
    )
    assert pointers(problem) == {
        ("/area", "given_twice"),
        ("/height_removed_mm", "required"),
        ("/height_before_mm", "out_of_range"),
        ("/wetness", "not_a_choice"),
        ("/colour", "unknown_field"),
    }


@pytest.mark.parametrize("body", [[], 5, "text", True])
def test_a_question_is_an_object(desk, body):
    answer = desk.post("/computations/estimate", json=body)
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == ""


GRASS = [{"material": "grass_clippings", "mass_kg": 100}]
ODD = {**GRASS[0], "carbon_to_nitrogen": 100}
REFUSALS = {
    "estimate": (
        {"area": {"value": -9, "unit": "m2"}, "height_removed": {"value": 50, "unit": "mm"}}
        | {"height_before_mm": 40},
        {"/area/value": "out_of_range", "/height_removed": "height_out_of_range"},
    ),
    "drying": (
        {"depth_mm": 500, "goal_moisture": 0.9, "temperature_c": 20, "relative_humidity": 1}
        | {"solar_w_per_m2": 0, "wetness": "damp"},
        {
            "/wetness": "not_a_choice",
            "/depth_mm": "outside_validity",
            "/goal_moisture": "outside_validity",
            "/relative_humidity": "outside_validity",
        },
    ),
    "mix": (
        {
            "materials": [{"material": "moon_dust", "mass_kg": 1}, ODD, {**GRASS[0], "mass_kg": 0}],
            "browns": ["straw", "sand"],
        },
        {
            "/materials/0/material": "material_unknown",
            "/materials/1/carbon_to_nitrogen": "carbon_impossible",
            "/materials/2/mass_kg": "out_of_range",
            "/browns/1": "material_unknown",
        },
    ),
    "mix ": ({"materials": []}, {"/materials": "mix_empty"}),
    "mix  ": (
        {"materials": GRASS, "browns": ["grass_clippings"], "water_allowed": False},
        {"/browns": "mix_goals_out_of_reach"},
    ),
    "vehicle-room": (
        {"body_volume_m3": 4, "aboard_volume_m3": 5},
        {"/payload_kg": "vehicle_limit_missing", "/aboard_volume_m3": "vehicle_overloaded"},
    ),
    "vehicle-room ": (
        {"body_volume_m3": 4, "payload_kg": 900, "gross_limit_kg": 2000, "tare_kg": 3500}
        | {"aboard_mass_kg": 990, "aboard_volume_m3": -1},
        {
            "/tare_kg": "tare_above_gross",
            "/aboard_mass_kg": "vehicle_overloaded",
            "/aboard_volume_m3": "out_of_range",
        },
    ),
    "kill": (
        {"standard": "pas_100", "process": "windrow", "jurisdiction": "FR", "turnings": -1}
        | {"readings": [{"hour": 5, "temperature_c": 60}, {"hour": 4, "temperature_c": 60}]},
        {
            "/process": "no_kill_requirement",
            "/readings/1/hour": "out_of_order",
            "/turnings": "out_of_range",
        },
    ),
}


@pytest.mark.parametrize("path", REFUSALS)
def test_what_cannot_be_computed_is_refused_with_every_faulty_field_at_once(desk, path):
    body, faulty = REFUSALS[path]
    problem = refused(desk, path.strip(), **body)
    assert {one["pointer"]: one["code"] for one in problem["errors"]} == faulty


def test_a_standard_counts_from_the_day_it_is_in_force(desk):
    body = {"standard": "pas_100", "process": "windrow", "turnings": 5, "jurisdiction": "GB-ENG"}
    readings = [{"hour": 24 * day, "temperature_c": 70} for day in range(9)]
    before = refused(desk, "kill", **body, readings=readings, day="2010-12-31")
    assert [one["code"] for one in before["errors"]] == ["no_kill_requirement"]
    assert asked(desk, "kill", **body, readings=readings, day="2011-01-01")["met"] is True


def test_an_overload_is_refused_with_the_figures(desk):
    problem = refused(desk, "vehicle-room", body_volume_m3=4, payload_kg=900, aboard_mass_kg=990)
    (fault,) = problem["errors"]
    assert "990" in fault["detail"]
    assert "900" in fault["detail"]


def test_the_label_comes_before_the_table_and_an_unknown_product_is_unknown(desk):
    by_table = asked(
        desk,
        "treatment-wait",
        product="Weed control",
        active_ingredients=["94-75-7"],
        days_since=400,
        mowings_since=20,
    )
    assert by_table["substances"][0]["name"] == "2,4-D"
    assert by_table["uses"]["bed"]["outcome"] == "clear"
    by_label = asked(
        desk,
        "treatment-wait",
        product="Weed control",
        active_ingredients=["2,4-D"],
        days_since=400,
        mowings_since=20,
        label_never=True,
    )
    assert by_label["uses"]["bed"]["outcome"] == "never"
    for named in ([], ["no such thing"]):
        unknown = asked(desk, "treatment-wait", product="A can", active_ingredients=named)
        assert unknown["uses"]["bed"]["outcome"] == "unknown"


def test_grass_that_was_cut_today_has_not_grown(desk):
    body = {"area_m2": 9, "daily_mean_temperatures_c": [], "grass_kind": "warm_season"}
    told = asked(desk, "regrowth", **body)
    assert told["low"] == told["high"] == {"dry_matter_g_per_m2": 0, "mass_kg": 0}


def test_what_lies_on_a_bed_takes_its_room(desk):
    laid = [{"age_days": 30, "mass_kg_per_m2": 4.0, "nitrogen_kg_per_ha": 150}]
    bare = asked(desk, "bed-room", area_m2=30, wetness="dry")
    fed = asked(desk, "bed-room", area_m2=30, wetness="dry", laid=laid)
    assert fed["mass_kg"] < bare["mass_kg"]
    assert fed["mass_kg"] == min(fed["mass_kg_by_limit"].values())
    long_ago = asked(
        desk, "bed-room", area_m2=30, wetness="dry", laid=[{**laid[0], "age_days": 366}]
    )
    assert long_ago == bare


def test_a_computed_estimate_is_the_estimate_of_a_job(yard, client):
    job = client.post("/jobs", json=yard.job()).json
    computed = asked(
        client,
        "estimate",
        area_m2=450,
        height_removed={"value": 1.5, "unit": "[in_i]"},
        grass_kind=job["grass_kind"],
        wetness="dry",
        jurisdiction="GB-ENG",
    )
    for name in ("mass_kg", "volume_m3", "dry_matter_kg", "nitrogen_kg"):
        assert computed[name] == job["estimate"][name]


def test_the_service_meets_its_own_vectors(desk):
    for case in json.loads(PATH.read_text())["cases"]:
        answer = desk.post("/computations/estimate", json={**case["input"], "day": case["day"]})
        if "refusal" in case:
            assert answer.status_code == 422, case["name"]
            continue
        for name in ("mass_kg", "volume_m3", "dry_matter_kg", "nitrogen_kg"):
            told = answer.json["result"][name]
            for end, number in case["expected"][name].items():
                assert told[end] == pytest.approx(number, rel=5e-4), case["name"]


def test_rules_are_found_by_name_kind_and_standing(desk):
    everything = desk.get("/rules").json["items"]
    (name,) = {row["name"] for row in desk.get("/rules?name=clipping_moisture").json["items"]}
    assert name == "clipping_moisture"
    law = desk.get("/rules?kind=law").json["items"]
    assert law == [row for row in everything if row["kind"] == "law"]
    either = desk.get("/rules?standing=memory&standing=practice").json["items"]
    assert either == [row for row in everything if row["standing"] in ("memory", "practice")]
    assert desk.get("/rules?kind=habit").status_code == 422


def test_every_rule_leads_to_sources_that_are_told(desk):
    sources = desk.get("/sources").json["items"]
    for row in desk.get("/rules").json["items"]:
        assert set(row["sources"]) <= set(sources)
    rule = desk.get("/rules/clipping_moisture").json
    for key, said in rule["sources"].items():
        told = desk.get(f"/sources/{key}").json
        assert "clipping_moisture" in told["rules"]
        assert {name: told[name] for name in said} == said
    assert desk.get("/rules/no_such_rule").status_code == 404
    assert desk.get("/sources/no-such-source").status_code == 404


@pytest.mark.parametrize("address", ["/rules", "/sources", "/materials", "/rules/bag_litres"])
def test_a_rulebook_that_is_known_is_not_sent_again(desk, address):
    etag = desk.get(address).headers["ETag"]
    known = desk.get(address, headers={"If-None-Match": etag})
    assert known.status_code == 304
    assert known.data == b""


def test_materials_and_substances_are_told_with_their_sources(desk):
    materials = desk.get("/materials").json
    assert {"grass_clippings", "tree_leaves"} <= {row["name"] for row in materials["items"]}
    for row in materials["items"]:
        assert set(row["moisture"]["sources"]) <= set(materials["sources"])
    substances = desk.get("/treatment-substances?day=2026-05-24&jurisdiction=GB-ENG").json
    (clopyralid,) = (row for row in substances["items"] if row["name"] == "clopyralid")
    assert clopyralid["cas"] == "1702-17-6"
    for wait in clopyralid["waits"]:
        assert set(wait["sources"]) <= set(substances["sources"])


def test_one_link_leads_from_an_estimate_to_its_factors_and_their_sources(yard, client):
    job = client.post("/jobs", json=yard.job()).json
    why = client.get(job["links"]["why"]).json
    assert why["estimate"]["mass_kg"] == job["estimate"]["mass_kg"]
    assert [factor["name"] for factor in why["factors"]] == [
        factor["name"] for factor in job["estimate"]["factors"]
    ]
    entered = {factor["name"] for factor in why["factors"] if factor["rule"] is None}
    assert entered == {"area_m2", "height_removed_mm"}
    for factor in why["factors"]:
        assert set(factor["sources"]) <= set(why["sources"])
        if factor["rule"] is not None:
            row = factor["rule"]
            assert [factor[end] for end in ("low", "likely", "high")] == [
                row[end] for end in ("low", "likely", "high")
            ]
    assert all(source["title"] and source["author"] for source in why["sources"].values())
    assert why["tickets"] == []


def test_one_link_leads_from_a_job_to_every_destinations_word(yard, client):
    job = client.post("/jobs", json=yard.job(litter_seen=True)).json
    told = client.get(job["links"]["verdicts"]).json
    assert {verdict["destination_id"] for verdict in told["verdicts"]} == {
        yard.ids[name] for name in ("beds", "compost-sites", "hold-bays")
    }
    by_kind = {verdict["destination_kind"]: verdict for verdict in told["verdicts"]}
    assert by_kind["bed"]["refused"] is True
    assert by_kind["bed"]["accepted_kg"] == 0
    assert by_kind["hold_bay"]["refused"] is False
    for verdict in told["verdicts"]:
        assert verdict["sentence"]
        assert set(verdict["sources"]) <= set(told["sources"])


def test_a_cancelled_job_can_still_be_explained(yard, client):
    job = client.post("/jobs", json=yard.job(state="cancelled")).json
    for link in job["links"].values():
        assert client.get(link).status_code == 200


def test_another_firms_job_is_not_explained(world, yard, client):
    job = client.post("/jobs", json=yard.job()).json
    stranger = world.client(world.firm("Other"))
    for link in job["links"].values():
        assert stranger.get(link).status_code == 404
        assert client.get(link.replace(job["id"], str(UUID(int=7)))).status_code == 404


def weighed(yard, client, *, ticket):
    """Mow, plan and tip a small lot, and weigh it at half more than was thought."""
    job = client.post("/jobs", json=yard.job(area_mowed=SMALL)).json
    client.post("/day-plans", json={"depot_id": yard.ids["depots"], "day": "2026-05-24"})
    (load,) = client.get("/loads?destination_kind=bed&state=planned").json["items"]
    thought = job["estimate"]["mass_kg"]["likely"]
    place = f"/loads/{load['id']}"
    net = {"value": round(1.5 * thought, 1), "unit": "kg"}
    patch = {"state": "delivered", "weighed_net": net, "weigh_ticket": ticket}
    answer = client.patch(place, json=patch, headers=ANY_VERSION)
    assert answer.status_code == 200, answer.text
    assert answer.json["ticket_review"] == "awaited"
    return place


def test_only_who_runs_the_firm_reviews_a_ticket_and_what_it_taught_can_be_traced(
    world, firm_id, yard, client
):
    place = weighed(yard, client, ticket="W-1")
    accept = {"ticket_review": "accepted"}
    crew = world.client(firm_id, Role.CREW, crew_id=yard.ids["crews"])
    for client_of in (crew, world.client(firm_id, Role.INTEGRATOR)):
        answer = client_of.patch(place, json=accept, headers=ANY_VERSION)
        assert answer.status_code == 403
        assert answer.json["code"] == "not_allowed"
    untaught = client.post("/jobs", json=yard.job()).json
    assert untaught["estimate"]["tickets"] == 0
    doubt = client.get(untaught["links"]["why"]).json["estimate"]["untaught"]
    assert 1.2 < doubt["firm_factor_high"] < 2.5
    assert doubt["sentence"].startswith("No weigh ticket has spoken yet.")
    dispatcher = world.client(firm_id, Role.DISPATCHER)
    world.clock.move(minutes=1)
    reviewed = dispatcher.patch(place, json=accept, headers=ANY_VERSION)
    assert reviewed.json["ticket_review"] == "accepted"
    taught = client.post("/jobs", json=yard.job()).json
    assert taught["estimate"]["tickets"] == 1
    before = taught["estimate"]["mass_before_tickets_kg"]["likely"]
    assert taught["estimate"]["mass_kg"]["likely"] > before
    for name in ("dry_matter_kg", "volume_m3", "nitrogen_kg"):
        # What is learned of the mass is learned of all that is in it.
        sure, unsure = taught["estimate"][name], untaught["estimate"][name]
        assert sure["high"] / sure["low"] < unsure["high"] / unsure["low"]
    why = client.get(taught["links"]["why"]).json
    assert why["estimate"]["untaught"] is None
    (ticket,) = why["tickets"]
    assert ticket["weigh_ticket"] == "W-1"
    assert ticket["weighed_net_kg"] / ticket["estimated_kg"] == pytest.approx(1.5, rel=0.01)
    names = {factor["name"] for factor in why["factors"]}
    assert {"estimate_before_tickets", "learned_ratio"} <= names
    # Another ticket, even from who may not review, is not accepted by what was said of the first.
    world.clock.move(minutes=1)
    heavier = {"weighed_net": {"value": 900, "unit": "kg"}}
    assert crew.patch(place, json={**heavier, **accept}, headers=ANY_VERSION).status_code == 403
    assert crew.patch(place, json=heavier, headers=ANY_VERSION).json["ticket_review"] == "awaited"
    assert client.post("/jobs", json=yard.job()).json["estimate"]["tickets"] == 0
    later = client.get(taught["links"]["why"]).json
    assert later["estimate"] == why["estimate"]
    assert later["tickets"] == []  # its weight is another now, and nobody reviewed that
    assert client.get(untaught["links"]["why"]).json["tickets"] == []
