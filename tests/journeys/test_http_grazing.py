"""Horses and other animals that graze at a bed: a fence, or nothing is laid; a word at the stop."""

import pytest

from tests.journeys.test_http_before_mowing import BASIS, Asking

DAY = "2026-05-24"


class Stable(Asking):
    """A crew with a clean lot for a bed where animals may be."""

    def __init__(self):
        super().__init__()
        self.bed = f"/beds/{self.ids['beds']}"
        small = {"value": 60, "unit": "m2"}
        self.job = self.post("/jobs", self.yard.job(area_mowed=small))["id"]

    def verdict(self):
        told = self.client.get(f"/jobs/{self.job}/verdicts").json["verdicts"]
        return next(verdict for verdict in told if verdict["destination_kind"] == "bed")

    def routing(self):
        answer = self.client.get(f"/days/{DAY}/routing?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json

    def bed_drops(self):
        return [
            stop
            for vehicle in self.routing()["routing"]["vehicles"]
            for stop in vehicle["stops"]
            if stop["kind"] == "drop" and stop["destination_kind"] == "bed"
        ]


@pytest.fixture
def stable():
    return Stable()


@pytest.mark.parametrize("where", ["animals", "animals_beside"])
@pytest.mark.parametrize("kind", ["horses", "grazing"])
def test_without_a_fence_on_record_nothing_is_laid_where_animals_graze(stable, where, kind):
    assert stable.verdict()["accepted_kg"] > 0
    stable.change(stable.bed, **{where: [kind]})
    refused = stable.verdict()
    assert (refused["accepted_kg"], refused["code"]) == (0, "grazing_animals_in_reach")
    assert refused["facts"]["animals"] == [kind]
    assert "bhs-2002" in refused["sources"]
    assert stable.bed_drops() == []


def test_a_fence_that_was_looked_for_and_is_not_there_is_told_as_such(stable):
    stable.change(stable.bed, animals_beside=["horses"])
    assert "nobody has recorded a fence" in stable.verdict()["sentence"]
    stable.change(stable.bed, grazing_fenced=False)
    assert "no fence keeps them" in stable.verdict()["sentence"]


def test_a_fence_lets_them_be_laid_with_a_word_to_crew_and_dispatcher_at_the_stop(stable):
    stable.change(f"/crews/{stable.ids['crews']}", language="pl")
    stable.change(stable.bed, animals_beside=["horses"], grazing_fenced=True)
    assert stable.verdict()["accepted_kg"] > 0
    (drop,) = stable.bed_drops()
    (word,) = [word for word in drop["cautions"] if word["code"] == "horses_behind_fence"]
    assert "Horses stand beside this bed" in word["sentence"]
    assert (word["language"], "konie" in word["for_crew"]) == ("pl", True)


def test_a_bed_that_nobody_looked_about_at_is_looked_at_by_the_crew(stable):
    (drop,) = stable.bed_drops()
    assert "look_for_animals" in [word["code"] for word in drop["cautions"]]
    stable.change(stable.bed, animals_beside=[])
    (drop,) = stable.bed_drops()
    assert "look_for_animals" not in [word["code"] for word in drop["cautions"]]


def test_a_bed_that_nobody_looked_about_at_takes_grass_and_says_that_it_is_not_known(stable):
    said = stable.verdict()
    assert said["accepted_kg"] > 0
    assert said["facts"]["animals_beside"] == "not_known"
    assert "Nobody has said whether horses" in said["sentence"]
    for known in ([], ["dogs_or_cats"]):
        stable.change(stable.bed, animals_beside=known)
        assert "Nobody has said" not in stable.verdict()["sentence"]
        assert "animals_beside" not in stable.verdict()["facts"]
    stable.change(stable.bed, animals_beside=["horses"], grazing_fenced=True)
    assert "Nobody has said" not in stable.verdict()["sentence"]


def test_dogs_and_poultry_are_no_grazing_animals(stable):
    stable.change(stable.bed, animals=["dogs_or_cats", "poultry"])
    assert stable.verdict()["accepted_kg"] > 0


def test_a_load_that_lies_where_horses_turn_out_to_be_is_told_once(stable):
    (drop,) = stable.bed_drops()
    stable.world.clock.move(minutes=30)
    stable.change(f"/loads/{drop['load_id']}", state="delivered")
    stable.change(stable.bed, animals_beside=["horses"])
    stable.routing()
    listed = stable.client.get(f"/days/{DAY}/decisions?depot_id={stable.ids['depots']}").json
    (told,) = [one for one in listed["decisions"] if one["load_id"] == drop["load_id"]]
    assert (told["code"], told["urgency"]) == ("tipped_where_refused", "now")
    assert "can kill" in told["sentence"]


def test_a_note_names_the_neighbours_horses(stable):
    stable.change(stable.bed, animals_beside=["horses"], grazing_fenced=True)
    (drop,) = stable.bed_drops()
    note = stable.post(f"/loads/{drop['load_id']}/delivery-notes", {})
    assert "horse" in stable.client.get(f"/delivery-notes/{note['id']}?language=en").text


def test_sensitive_plants_and_where_to_lay_reach_the_crew(stable):
    stable.change(stable.bed, sensitive_plants="Rhododendrons.", where_to_lay="Behind the wall.")
    (drop,) = stable.bed_drops()
    words = {word["code"]: word["sentence"] for word in drop["cautions"]}
    assert words["where_to_lay"] == "Where to lay: Behind the wall."
    assert "Rhododendrons. Keep" in words["sensitive_plants"]


def test_a_bed_of_the_same_firm_without_animals_is_still_used(stable):
    stable.change(stable.bed, animals=["horses"])
    other = {"name": "Far side", "area": {"value": 40, "unit": "m2"}, "legal_basis": BASIS}
    body = {**stable.client.get(stable.bed).json, **other, "animals": []}
    kept = {"id", "version", "created_at", "updated_at", "links", "area_m2", "_links"}
    stable.post("/beds", {key: value for key, value in body.items() if key not in kept})
    (drop,) = stable.bed_drops()
    assert drop["destination"] == "Far side"
