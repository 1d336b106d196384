"""A plan that tips a part of what is aboard: the crew is told how much, and says what it tipped."""

import jsonschema
import pytest

from service.api.work.vehicle_today import VEHICLE_TODAY
from service.documents.rendering.language import LANGUAGES
from tests.crews import drops
from tests.devices import CLEAN, Device
from tests.screens import joined

MOWN = {**CLEAN, "area_mowed": {"value": 400, "unit": "m2"}}


class Parted(Device):
    """A body of which the bed takes a part, and the bay the rest."""

    def __init__(self):
        super().__init__()
        bed, bay, site = (self.ids[name] for name in ("beds", "hold-bays", "compost-sites"))
        consent = self.client.get(f"/beds/{bed}").json["consent"]
        self.patch(f"/beds/{bed}", {"consent": {**consent, "mass_per_visit_max_kg": 60}})
        self.patch(f"/hold-bays/{bay}", {"volume_m3": 0.4})
        shut = {"state": "closed", "as_of": self.world.clock.now().isoformat()}
        self.patch(f"/compost-sites/{site}", {"live_status": shut})
        self.speaks("en")
        front = self.what("mown", "12:10", lawn_id=self.lawn("Front"), **MOWN)
        self.cut = self.kept(front)[0]["job_id"]
        self.part, self.rest = drops(self.read())

    def speaks(self, language):
        self.patch(f"/crews/{self.ids['crews']}", {"language": language})

    def next_tip(self):
        answer = self.client.get(f"/vehicles/{self.ids['vehicles']}/today")
        jsonschema.Draft202012Validator(VEHICLE_TODAY).validate(answer.json)
        return answer.json["next_tip"]

    def page(self):
        phone = joined(self.world, self.yard, "crew", crew_id=self.ids["crews"])
        return phone.get("/screens/round/").text.replace("\u00a0", " ")

    def bay(self):
        return {"destination_kind": "hold_bay", "destination_id": self.ids["hold-bays"]}

    def share_aboard(self):
        balances = self.client.get(f"/mass-balances?lot_id={self.cut}").json["balances"]
        return sum(one["share"] for one in balances if one["place_kind"] == "vehicle")


@pytest.fixture
def parted():
    return Parted()


def said(parted, stop):
    """Return what the crew is to be told of a stop, by the loads of the plan."""
    part = parted.load(stop["load_id"])["mass_kg"]["likely"]
    rest = parted.load(parted.rest["load_id"])["mass_kg"]["likely"]
    percent = round(part / (part + rest) * 100)
    return (
        f"Tip only a part here: about {percent} % of what is in the body, {part:.0f} kg. "
        f"Keep the rest, about {rest:.0f} kg, for Bay 1."
    )


def test_a_crew_is_told_how_much_belongs_there_and_where_the_rest_goes(parted):
    words = said(parted, parted.part)
    assert parted.next_tip()["cautions"][0].replace("\u00a0", " ") == words
    assert words in parted.page()
    first = parted.part["cautions"][0]
    assert (first["code"], first["facts"]["place"]) == ("tip_a_part", "Bay 1")


def test_a_crew_that_is_on_its_way_is_still_told_how_much_belongs_there(parted):
    words = said(parted, parted.part)
    parted.kept(parted.what("set_off", "12:20", load_id=parted.part["load_id"]))
    parted.read()
    assert parted.next_tip()["cautions"][0].replace("\u00a0", " ") == words


def test_of_a_tip_of_all_that_is_aboard_no_part_is_spoken(parted):
    assert [one["code"] for one in parted.rest["cautions"]].count("tip_a_part") == 0
    parted.kept(parted.what("tipped", "12:30", load_id=parted.part["load_id"]))
    parted.read()
    assert parted.next_tip()["load_id"] == parted.rest["load_id"]
    assert "Tip only a part" not in str(parted.next_tip()["cautions"])


@pytest.mark.parametrize("code", LANGUAGES)
def test_a_part_is_told_in_the_language_of_the_crew(parted, code):
    parted.speaks(code)
    first = drops(parted.read())[0]["cautions"][0]
    assert first["language"] == code
    assert (first["for_crew"] == first["sentence"]) == (code == "en")
    assert "Bay 1" in first["for_crew"]


def test_a_tip_without_parts_is_of_the_part_that_was_told(parted):
    place = {name: parted.part[name] for name in ("destination_kind", "destination_id")}
    (row,) = parted.kept(parted.what("tipped", "12:30", **place))
    assert row["load_id"] == parted.part["load_id"]
    (part,) = parted.load(row["load_id"])["parts"]
    assert parted.share_aboard() == pytest.approx(1.0 - part["share"])


@pytest.mark.parametrize("set_off", [False, True])
def test_all_of_it_is_reported_by_naming_its_lots(parted, set_off):
    load = {"load_id": parted.part["load_id"]}
    if set_off:
        parted.kept(parted.what("set_off", "12:20", **load))
        parted.read()
    whole = {"parts": [{"job_id": parted.cut}]}
    (row,) = parted.kept(parted.what("tipped", "12:30", **load, **whole))
    assert row["load_id"] == load["load_id"]
    kept = parted.load(row["load_id"])
    assert kept["state"] == "delivered"
    assert [part["share"] for part in kept["parts"]] == [1.0]
    lot = parted.client.get(f"/jobs/{parted.cut}").json["estimate"]["mass_kg"]
    assert kept["mass_kg"]["likely"] == pytest.approx(lot["likely"])
    assert parted.share_aboard() == 0
    assert drops(parted.read()) == []


def test_more_than_the_part_is_reported_after_it_and_no_more_than_there_was(parted):
    load = {"load_id": parted.part["load_id"]}
    parted.kept(parted.what("tipped", "12:30", **load))
    whole = {"parts": [{"job_id": parted.cut}]}
    (row,) = parted.kept(parted.what("tipped", "12:40", **load, **whole))
    assert row["load_id"] != load["load_id"]
    assert parted.share_aboard() == pytest.approx(0)
    again = parted.kept(parted.what("tipped", "12:41", **load, **whole))[0]
    assert again["sentence"] == "It was on record already."
    assert parted.share_aboard() == pytest.approx(0)


def test_what_is_said_of_lots_that_are_not_aboard_is_refused_by_name(parted):
    load = {"load_id": parted.part["load_id"]}
    half = {"parts": [{"job_id": parted.cut, "share": 0.4}]}
    parted.kept(parted.what("tipped", "12:20", **parted.bay(), **half))
    too_much = {"parts": [{"job_id": parted.cut, "share": 0.9}]}
    problem = parted.refused(parted.what("tipped", "12:30", **load, **too_much))
    assert [one["pointer"] for one in problem["errors"]] == ["/parts/0/share"]


def test_the_crew_says_on_its_round_that_the_part_or_all_of_it_was_tipped(parted):
    phone = joined(parted.world, parted.yard, "crew", crew_id=parted.ids["crews"])
    page = phone.get("/screens/round/").text
    assert page.count('value="all_of_it"') == 1  # not of the rest, which is all there is then
    assert "That part was taken" in page
    form = {"key": "a-key", "act": "all_of_it", "load": parted.part["load_id"], "seen": "planned"}
    headers = {"Sec-Fetch-Site": "same-origin", "Accept": "application/json"}
    answer = phone.post("/screens/round/reports", data=form, headers=headers)
    assert answer.status_code == 200, answer.text
    assert parted.load(parted.part["load_id"])["state"] == "delivered"
    assert parted.share_aboard() == 0


def test_that_all_was_tipped_is_taken_back(parted):
    whole = {"load_id": parted.part["load_id"], "parts": [{"job_id": parted.cut}]}
    tipped = parted.what("tipped", "12:30", **whole)
    parted.kept(tipped)
    parted.kept(parted.what("undo", "12:40", undoes=tipped["id"]))
    assert parted.share_aboard() == pytest.approx(1.0)
    assert [stop["destination_kind"] for stop in drops(parted.read())] == ["bed", "hold_bay"]
