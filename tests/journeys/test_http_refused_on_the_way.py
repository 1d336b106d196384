"""Whoever is on the way hears it before the tip when its place or its grass may no longer."""

from datetime import timedelta

import pytest

from tests.crews import another_crew, drops
from tests.holds import Yard
from tests.outages import warnings

DAY = "2026-05-24"
ALWAYS = [
    {"weekday": day, "opens": "06:00", "closes": "22:00", "last_load": "21:30"} for day in range(7)
]


class OnItsWay(Yard):
    """A yard whose vehicle set off with clean grass: to a bed, or to a site."""

    def __init__(self, kind="bed"):
        super().__init__()
        self.patch(f"/crews/{self.ids['crews']}", {"language": "en"})
        if kind == "compost_site":
            self.patch(self.bed, {"consent": {"state": "refused"}})
            self.patch(self.site, {"hours": ALWAYS})
            self.fill_the_bay()
        self.front = self.lawn("Front")
        self.mow(self.front, at="11:00")
        (drop,) = drops(self.routing())
        assert drop["destination_kind"] == kind
        self.load_id, self.place = drop["load_id"], drop["destination"]
        self.patch(f"/loads/{self.load_id}", {"state": "under_way"})
        self.world.clock.move(minutes=5)

    def fill_the_bay(self):
        self.patch(f"/hold-bays/{self.ids['hold-bays']}", {"volume_m3": 0.01})

    def today(self):
        self.routing()
        answer = self.client.get(f"/vehicles/{self.ids['vehicles']}/today")
        assert answer.status_code == 200, answer.text
        return answer.json

    def decisions(self):
        answer = self.client.get(f"/days/{DAY}/decisions?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json["decisions"]

    @property
    def bay_name(self):
        return self.client.get(f"/hold-bays/{self.ids['hold-bays']}").json["name"]


def clients_no(yard):
    yard.patch(yard.bed, {"consent": {"state": "withdrawn"}})


def clients_no_by_link(yard):
    note = yard.post(f"/loads/{yard.load_id}/delivery-notes", {})
    page = yard.client.get(f"/delivery-notes/{note['id']}").json["links"]["page"]
    said = {"further": "no", "signed_by": "Mrs Alder"}
    answer = yard.client.post(f"{page}/consent", json=said)
    assert answer.status_code == 200, answer.text


def sprayed(yard):
    yard.treated(yard.front)


def horses(yard):
    yard.patch(yard.bed, {"animals_beside": ["horses"]})


@pytest.mark.parametrize("what", [clients_no, clients_no_by_link, sprayed, horses])
def test_who_is_on_the_way_to_a_bed_reads_first_not_to_tip_there(what):
    yard = OnItsWay()
    assert yard.today()["cautions"] == []
    what(yard)
    today = yard.today()
    first = today["cautions"][0]
    assert first.startswith(f"Do not tip at {yard.place}")
    assert first.endswith(f"{yard.bay_name} takes it.")
    assert today["next_tip"]["plan_b"]["name"] == yard.bay_name


@pytest.mark.parametrize("what", [clients_no, clients_no_by_link, sprayed, horses])
def test_the_office_has_it_before_the_tip_by_the_records_and_once(what):
    yard = OnItsWay()
    what(yard)
    for _ in ("before the day is planned again", "after it"):
        (told,) = [one for one in yard.decisions() if one["load_id"] == yard.load_id]
        assert (told["code"], told["urgency"]) == ("do_not_tip", "now")
        assert yard.place in told["sentence"]
        assert f"{yard.bay_name} takes it" in told["sentence"]
        assert told["deadline"] is not None
        assert {"method": "PATCH", "href": f"/loads/{yard.load_id}"}.items() <= told["ways"][
            0
        ].items()
        yard.routing()


def test_a_gate_that_shuts_is_heard_on_the_way_to_it():
    yard = OnItsWay("compost_site")
    shut = {"state": "closed", "as_of": yard.world.clock.now().isoformat()}
    yard.patch(yard.site, {"live_status": shut})
    assert yard.today()["cautions"][0].startswith(f"Do not tip at {yard.place}")
    told = [one for one in yard.decisions() if yard.place in one["sentence"]]
    assert [one["code"] for one in told] == ["do_not_tip"]


def test_a_gate_that_has_shut_early_by_its_own_word_is_heard_on_the_way_to_it():
    yard = OnItsWay("compost_site")
    now = yard.world.clock.now()
    word = {"state": "open", "as_of": now.isoformat()}
    early = (now + timedelta(minutes=2)).isoformat()
    yard.patch(yard.site, {"live_status": {**word, "closes_early_at": early}})
    yard.world.clock.move(minutes=5)
    assert yard.today()["cautions"][0].startswith(f"Do not tip at {yard.place}")
    assert "do_not_tip" in {one["code"] for one in yard.decisions()}


def test_it_is_said_in_the_crews_language():
    yard = OnItsWay()
    yard.patch(f"/crews/{yard.ids['crews']}", {"language": "pl"})
    clients_no(yard)
    assert yard.today()["cautions"][0].startswith(f"Nie wysypywać: {yard.place}")


def test_nothing_says_how_to_lay_it_where_it_is_not_to_be_tipped():
    yard = OnItsWay()
    yard.patch(yard.bed, {"where_to_lay": "Behind the wall."})
    assert any("Behind the wall" in one for one in yard.today()["next_tip"]["cautions"])
    horses(yard)
    assert yard.today()["next_tip"]["cautions"] == []


def test_without_another_place_the_office_is_asked():
    yard = OnItsWay()
    yard.fill_the_bay()
    clients_no(yard)
    assert "ask the office" in yard.today()["cautions"][0]
    assert yard.today()["next_tip"]["plan_b"] is None


def test_it_leaves_both_screens_with_its_fact_and_with_the_tip_elsewhere():
    yard = OnItsWay()
    clients_no(yard)
    yard.patch(yard.bed, {"consent": {"state": "given", "given_on": "2026-05-01"}})
    assert yard.today()["cautions"] == []
    assert "do_not_tip" not in [one["code"] for one in yard.decisions()]
    clients_no(yard)
    assert yard.today()["next_tip"]["plan_b"]["name"] == yard.bay_name
    tip = {
        "kind": "tipped",
        "at": yard.world.clock.now().isoformat(),
        "load_id": yard.load_id,
        "destination_kind": "hold_bay",
        "destination_id": yard.ids["hold-bays"],
        "id": "5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b11",
    }
    said = {
        "device": "phone-1",
        "sent_at": yard.world.clock.now().isoformat(),
        "crew_id": yard.ids["crews"],
        "vehicle_id": yard.ids["vehicles"],
        "reports": [tip],
    }
    answer = yard.client.post("/reports", json=said)
    assert answer.status_code in {200, 201, 207}, answer.text
    (kept,) = answer.json["reports"]
    assert kept["problem"] is None, kept
    # It did what its screen said.
    assert kept["sentence"] == "Tipped, and on record."
    assert yard.today()["cautions"] == []
    assert warnings(yard.routing(), "do_not_tip") == []
    assert yard.client.get(f"/loads/{yard.load_id}").json["state"] == "superseded"


def says_it_has_less(yard):
    word = {"state": "open", "as_of": yard.world.clock.now().isoformat(), "capacity_left_kg": 10}
    yard.patch(yard.site, {"live_status": word})


def takes_what_others_bring(yard):
    yard.patch(yard.site, {"daily_capacity_kg": 25.5})
    other = another_crew(yard)
    lawn = yard.lawn("Back")
    job = yard.mow(lawn, at="12:30", **other)
    tip = {
        "vehicle_id": other["vehicle_id"],
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "done_at": yard.world.clock.now().isoformat(),
        "parts": [{"job_id": job}],
    }
    yard.post("/loads", tip)


@pytest.mark.parametrize("what", [says_it_has_less, takes_what_others_bring])
def test_who_is_on_the_way_with_more_than_fits_reads_how_much_and_where_the_rest_goes(what):
    yard = OnItsWay("compost_site")
    assert yard.today()["cautions"] == []
    what(yard)
    assert yard.today()["cautions"][0].startswith(f"Do not tip all of it at {yard.place}")
    assert "ask the office" in yard.today()["cautions"][0].lower()
    yard.patch(f"/hold-bays/{yard.ids['hold-bays']}", {"volume_m3": 8})
    today = yard.today()
    high_kg = yard.client.get(f"/loads/{yard.load_id}").json["mass_kg"]["high"]
    room_kg = {says_it_has_less: 10, takes_what_others_bring: int(25.5 - high_kg)}[what]
    assert f"room for {room_kg}\u00a0kg" in today["cautions"][0]
    assert today["cautions"][0].endswith(f"The rest goes to {yard.bay_name}.")
    assert today["next_tip"]["plan_b"]["name"] == yard.bay_name
    (told,) = [one for one in yard.decisions() if one["load_id"] == yard.load_id]
    assert (told["code"], told["urgency"]) == ("do_not_tip_all", "now")
    assert f"room for {room_kg} kg" in told["sentence"]
    assert [way["href"] for way in told["ways"]] == ["/loads"]


def test_of_two_on_their_way_to_one_place_the_one_that_comes_first_has_its_room():
    yard = OnItsWay("compost_site")
    other = another_crew(yard)
    yard.mow(yard.lawn("Back"), at="12:30", **other)
    (drop,) = [one for one in drops(yard.routing()) if one["load_id"] != yard.load_id]
    yard.patch(f"/loads/{drop['load_id']}", {"state": "under_way"})
    yard.patch(yard.site, {"daily_capacity_kg": 25.5})
    (told,) = [one for one in yard.decisions() if one["code"].startswith("do_not_tip")]
    assert told["code"] == "do_not_tip_all"


def test_nobody_is_offered_to_plan_anew_what_nobody_takes():
    yard = OnItsWay()
    clients_no(yard)
    assert "planned" in str(told_ways(yard))
    yard.fill_the_bay()
    assert "planned" not in str(told_ways(yard))
    assert told_ways(yard) != []


def told_ways(yard):
    (told,) = [one for one in yard.decisions() if one["code"] == "do_not_tip"]
    return told["ways"]


def reported(yard, **fields):
    """Return what a crew is answered that reports a tip."""
    now = yard.world.clock.now().isoformat()
    tip = {"kind": "tipped", "at": now, "id": "5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b12", **fields}
    said = {"device": "phone-1", "sent_at": now, "reports": [tip]}
    said |= {"crew_id": yard.ids["crews"], "vehicle_id": yard.ids["vehicles"]}
    (kept,) = yard.client.post("/reports", json=said).json["reports"]
    assert kept["problem"] is None, kept
    return kept["sentence"]


def test_who_tips_by_a_plan_that_has_changed_since_is_not_told_that_no_plan_sent_it_there():
    yard = Yard()
    yard.mow(yard.lawn("Front"), at="11:00")
    (drop,) = drops(yard.routing())
    yard.world.clock.move(minutes=5)
    clients_no(yard)
    (other,) = drops(yard.routing())
    assert other["destination_kind"] == "hold_bay"
    said = reported(yard, load_id=drop["load_id"])
    assert "The plan has changed since" in said
    assert "No plan sent it there" not in said
    assert "The client's consent for this bed is: withdrawn." in said


def test_who_tips_where_nothing_sent_it_is_told_so():
    yard = Yard()
    yard.patch(yard.site, {"hours": ALWAYS})
    yard.mow(yard.lawn("Front"), at="11:00")
    yard.routing()
    yard.world.clock.move(minutes=5)
    place = {"destination_kind": "compost_site", "destination_id": yard.ids["compost-sites"]}
    assert "No plan sent it there" in reported(yard, **place)
