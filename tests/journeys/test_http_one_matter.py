"""One matter is one decision, however many beds, loads or cuts it is about; each has its way."""

from tests.crews import DAY as CREW_DAY
from tests.crews import Crew
from tests.depots import DAY, NOW
from tests.journeys.test_http_broken_down import BrokenDown
from tests.journeys.test_http_one_cut_a_visit import said
from tests.outages import warnings

OLD = {"ground_state": "firm", "ground_state_at": "2026-05-18T09:00:00Z"}


def decisions(client, day, depot_id):
    answer = client.get(f"/days/{day}/decisions?depot_id={depot_id}")
    assert answer.status_code == 200, answer.text
    return answer.json["decisions"]


def of_day(depot, code):
    return [one for one in decisions(depot.client, DAY, depot.ids["depots"]) if one["code"] == code]


def loads_to_beds(depot):
    """Have the day planned with free-standing beds and no site; return its loads to beds."""
    site = f"/compost-sites/{depot.ids['compost-sites']}"
    depot.amend(site, {"closed_on": [DAY]})
    depot.plan()
    answer = depot.client.get("/loads?state=planned").json["items"]
    return [load for load in answer if load["destination_kind"] == "bed"]


def test_beds_whose_ground_was_seen_long_ago_are_one_decision_with_a_way_for_each(depot):
    for bed in depot.client.get("/beds").json["items"]:
        depot.amend(f"/beds/{bed['id']}", OLD)
    beds = {load["destination_id"] for load in loads_to_beds(depot)}
    assert len(beds) > 1
    (told,) = of_day(depot, "ground_word_old")
    assert told["count"] == len(beds)
    assert {way["href"] for way in told["ways"]} == {f"/beds/{bed}" for bed in beds}
    assert (told["destination_id"], told["load_id"]) == (None, None)
    assert told["deadline"] == min(
        one["arrive_at"].replace("Z", "+00:00")
        for one in depot.client.get("/loads?state=planned").json["items"]
        if one["destination_id"] in beds
    )
    first, *others = told["ways"]
    seen = {"ground_state": "firm", "ground_state_at": depot.world.clock.now().isoformat()}
    depot.amend(first["href"], seen)
    left = [way["href"] for one in of_day(depot, "ground_word_old") for way in one["ways"]]
    assert left == [way["href"] for way in others]


def test_what_one_client_sent_away_is_one_decision_that_says_whom_to_ask(depot):
    depot.world.clock.move(hours=22)
    for job in depot.jobs:
        cut = {"state": "mown", "cut_at": depot.world.clock.now().isoformat()}
        depot.amend(f"/jobs/{job}", cut)
    loads = loads_to_beds(depot)[:3]
    for load in loads:
        depot.amend(
            f"/loads/{load['id']}", {"state": "refused", "refusal_reason": "nobody asked us"}
        )
    (told,) = of_day(depot, "turned_away")
    assert told["count"] == 3
    client = depot.client.get(f"/clients/{depot.ids['clients']}").json
    assert f"ask {client['name']}, {client['phone']}." in told["sentence"]
    assert {way["href"] for way in told["ways"]} == {
        "/loads",
        *(f"/loads/{load['id']}" for load in loads),
    }
    for load in loads:
        depot.amend(f"/loads/{load['id']}", {"state": "delivered"})
    assert of_day(depot, "turned_away") == []


def test_cuts_that_one_crew_may_have_said_twice_are_one_decision_and_each_is_answered(crew):
    for name in ("Front", "Back", "Side"):
        lawn = crew.lawn(name)
        said(crew, lawn, at="12:00")
        said(crew, lawn, at="12:30")

    def waiting():
        found = decisions(crew.client, "2026-05-24", crew.ids["depots"])
        return [one for one in found if one["code"] == "possible_duplicate"]

    (told,) = waiting()
    assert (told["count"], len(told["ways"]), told["job_id"]) == (3, 6, None)
    for number, word in enumerate(("another_cut", "the_same", "another_cut")):
        (told,) = waiting()
        assert told["count"] == 3 - number
        ways = [way for way in told["ways"] if word in way["what"]]
        answer = crew.client.post(ways[0]["href"], json={"decision": word})
        assert answer.status_code == 200, answer.text
    assert waiting() == []


def test_consents_of_one_client_that_end_are_one_call(depot):
    beds = depot.client.get("/beds").json["items"]
    for number, bed in enumerate(beds):
        expires_on = f"2026-05-{26 + number % 3}"
        depot.amend(f"/beds/{bed['id']}", {"consent": {"state": "given", "expires_on": expires_on}})
    (told,) = of_day(depot, "consent_ends")
    assert told["count"] == len(beds)
    assert told["sentence"].count("ends with") == 4
    assert f"And {len(beds) - 4} more." in told["sentence"]
    for way in told["ways"]:
        answer = depot.client.patch(
            way["href"],
            json={"consent": {"state": "given", "expires_on": "2026-12-31"}},
            headers=NOW,
        )
        assert answer.status_code == 200, answer.text
    assert of_day(depot, "consent_ends") == []


def test_a_site_that_shuts_before_several_loads_is_one_decision_and_its_way_plans_them_anew(depot):
    for bed in depot.client.get("/beds").json["items"]:
        depot.amend(f"/beds/{bed['id']}", {"consent": {"state": "refused"}})
    depot.amend(f"/hold-bays/{depot.ids['hold-bays']}", {"volume_m3": 0.01})
    depot.plan()
    site = depot.ids["compost-sites"]
    loads = depot.client.get(f"/loads?state=planned&destination_id={site}").json["items"]
    assert len(loads) > 1
    depot.amend(f"/compost-sites/{site}", {"closed_on": [DAY]})
    path = f"/days/{DAY}/decisions?depot_id={depot.ids['depots']}"

    def shut():
        found = depot.client.get(path, headers={"Prefer": "wait=0"}).json["decisions"]
        return [one for one in found if one["code"] == "site_shuts_first"]

    (told,) = shut()
    assert f"{len(loads)} loads are to come, the last at" in told["sentence"]
    again = next(way for way in told["ways"] if way["href"] == "/day-plans")
    answer = depot.client.post(again["href"], json={"depot_id": depot.ids["depots"], "day": DAY})
    assert answer.status_code == 201, answer.text
    assert shut() == []


def test_a_vehicle_that_broke_down_is_one_decision_with_what_stands_in_it_and_what_it_leaves():
    yard = BrokenDown()
    later = yard.plan_to_mow(yard.lawn("Later"))
    (stands,) = warnings(yard.routing(), "load_stands")
    of_it = [one for one in yard.decisions() if one["vehicle_id"] == yard.ids["vehicles"]]
    (told,) = of_it
    assert (told["code"], told["urgency"]) == ("load_stands", "now")
    assert told["deadline"] == stands["look_by"]
    assert told["sentence"].startswith("Up to ")
    assert "have them out by" in told["sentence"]
    assert told["sentence"].count("has been out since 13:05 (Gearbox)") == 1
    assert f"/jobs/{later}" in [way["href"] for way in told["ways"]]


def test_grass_that_nobody_takes_is_told_once_with_why_and_what_it_keeps_on_a_lawn():
    crew = Crew()
    crew.mow_tainted("litter", at="09:00")
    clean = crew.plan_to_mow(crew.lawn("Ahead"))
    crew.read()
    listed = decisions(crew.client, CREW_DAY, crew.ids["depots"])
    (told,) = [one for one in listed if one["urgency"] == "now"]
    assert told["code"] == "nobody_takes_what_is_aboard"
    assert "find no place: does not take litter (2 places)." in told["sentence"]
    assert crew.client.get(f"/jobs/{clean}").json["lot_code"] in told["lot_codes"]
    assert told["ways"][0]["what"] == "Ask what would change it"


def test_recalled_grass_aboard_that_no_bay_takes_is_one_decision():
    crew = Crew()
    job = crew.mow(crew.lawn("Front"), at="10:00")
    code = crew.client.get(f"/jobs/{job}").json["lot_code"]
    crew.post("/recalls", {"lot_code": code, "reason": "Aminopyralid was found."})
    crew.read()
    (told,) = decisions(crew.client, CREW_DAY, crew.ids["depots"])
    assert told["code"] == "recalled_aboard"
    assert "Bag nothing on top" in told["sentence"]
    assert "/recalls" in [way["href"] for way in told["ways"]]


def test_a_break_of_an_overloaded_vehicle_hides_neither_its_overload_nor_why_grass_has_no_place():
    crew = Crew()
    cut = {"area_mowed": {"value": 440, "unit": "m2"}, "treatment_history": "unknown"}
    cut |= {"wetness": "rained_on", "height_removed": {"value": 80, "unit": "mm"}}
    cut |= {"height_before": None, "height_after": None}
    for at in ("10:00", "11:00", "12:00"):
        crew.mow(crew.lawn(f"Lawn of {at}"), at=at, **cut)
    span = {"out_since": f"{CREW_DAY}T16:00:00+01:00", "back_at": f"{CREW_DAY}T16:30:00+01:00"}
    service = {"vehicle_id": crew.ids["vehicles"], "reason": "Service", **span}
    crew.post("/vehicle-outages", service)
    crew.read()
    (told,) = decisions(crew.client, CREW_DAY, crew.ids["depots"])
    assert told["code"] == "vehicle_may_be_overloaded"
    for words in ("Nobody drives it on the road", "from 16:00 to 16:30", "find no place"):
        assert words in told["sentence"], words
