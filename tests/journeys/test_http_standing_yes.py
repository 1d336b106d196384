"""A client's standing yes: said by the link of a note, never wider than the record, withdrawn."""

import re

import pytest

from service.documents.rendering.language import LANGUAGES
from tests.deliveries import BROWSER, Delivered, Shown

YES = {"further": "yes", "expires_on": "2026-09-30", "signed_by": "R. Alvarez"}
NO = {"further": "no", "signed_by": "R. Alvarez"}


class Asked(Delivered):
    def __init__(self):
        super().__init__()
        self.bed = f"/beds/{self.ids['beds']}"
        self.patch(self.bed, {"consent": {"state": "given", "expires_on": "2026-06-01"}})

    def says(self, status=200, **said):
        nobody = self.world.app.test_client()
        answer = nobody.post(f"{self.address}/consent", json=said)
        assert answer.status_code == status, answer.text
        return answer.json

    def sends(self, status=303, asked="?language=en", **form):
        """Send the form of the page as a browser does; return what is shown then."""
        anybody = self.world.app.test_client()
        where = f"{self.address}/consent{asked}"
        answer = anybody.post(where, data={"further_by": "R. Alvarez", **form}, headers=BROWSER)
        assert answer.status_code == status, answer.text
        if status == 303:
            assert answer.headers["Location"].endswith("#further")
            answer = anybody.get(answer.headers["Location"], headers=BROWSER)
        return Shown(answer.text)

    @property
    def consent(self):
        return self.client.get(self.bed).json["consent"]

    def codes(self):
        path = f"/days/2026-05-24/decisions?depot_id={self.ids['depots']}"
        return [one["code"] for one in self.client.get(path).json["decisions"]]


@pytest.fixture
def crew():
    return Asked()


def test_a_yes_holds_until_its_day_and_is_of_record_with_who_said_so(crew):
    assert "consent_ends" in crew.codes()
    kept = crew.says(**YES, mass_per_visit_max_kg=200)
    assert (kept["state"], kept["expires_on"]) == ("given", "2026-09-30")
    assert crew.consent["mass_per_visit_max_kg"] == 200
    assert "consent_ends" not in crew.codes()
    newest = crew.client.get(f"{crew.bed}/history").json["items"][-1]
    assert "R. Alvarez said so by the link of note" in newest["reason"]
    version = crew.client.get(crew.bed).json["version"]
    crew.says(**YES, mass_per_visit_max_kg=200)
    assert crew.client.get(crew.bed).json["version"] == version


def test_a_yes_is_withdrawn_at_any_time_and_only_the_firm_records_another(crew):
    crew.answers(answer="received_and_checked")
    crew.says(**YES)
    assert crew.room_kg() > 0
    assert crew.says(**NO)["state"] == "withdrawn"
    assert crew.room_kg() == 0
    problem = crew.says(**YES, status=409)
    assert (problem["code"], "call" in problem["detail"]) == ("consent_not_by_link", True)
    assert crew.consent["state"] == "withdrawn"


def test_a_yes_is_never_wider_than_the_record(crew):
    crew.patch(crew.bed, {"consent": {"state": "given", "mass_per_visit_max_kg": 150}})
    said = {**YES, "expires_on": "2028-01-01", "mass_per_visit_max_kg": 200}
    problem = crew.says(**said, status=422)
    pointers = [fault["pointer"] for fault in problem["errors"]]
    assert pointers == ["/expires_on", "/mass_per_visit_max_kg"]
    problem = crew.says(further="yes", status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/signed_by"]
    assert crew.says(**YES)["mass_per_visit_max_kg"] == 150


def test_a_yes_that_begins_later_begins_no_sooner_by_a_link(crew):
    later = {"state": "given", "given_on": "2026-06-10", "expires_on": "2026-06-30"}
    crew.patch(crew.bed, {"consent": later})
    assert crew.says(**YES)["given_on"] == "2026-06-10"
    problem = crew.says(**{**YES, "expires_on": "2026-06-09"}, status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/expires_on"]
    assert "from 10 June 2026 to" in problem["errors"][0]["detail"]
    crew.patch(crew.bed, {"consent": {"state": "given", "given_on": "2026-04-01"}})
    assert crew.says(**YES)["given_on"] == "2026-04-01"


def test_a_most_below_the_least_on_record_is_refused_and_the_bed_can_be_amended_still(crew):
    consent = {"state": "given", "mass_per_visit_min_kg": 100, "mass_per_visit_max_kg": 200}
    crew.patch(crew.bed, {"consent": consent})
    problem = crew.says(**YES, mass_per_visit_max_kg=50, status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/mass_per_visit_max_kg"]
    assert crew.consent["mass_per_visit_max_kg"] == 200
    crew.patch(crew.bed, {"name": "Rose border, east"})


def test_an_old_clients_paper_says_nothing_of_a_new_clients_bed(crew):
    other = crew.post("/clients", {"name": "A new owner"})["id"]
    crew.patch(f"/properties/{crew.ids['properties']}", {"client_id": other})
    crew.says(**YES, status=404)


def test_the_page_of_a_note_asks_and_shows_what_is_on_record(crew):
    yes = {"further": "yes", "expires_on": "2026-09-30"}
    shown = crew.sends(**yes, most_amount="200", most_unit="kg")
    assert "On record: yes, until 30 September 2026, at most 200 kg each time." in shown.text
    assert crew.consent["mass_per_visit_max_kg"] == 200
    shown = crew.sends(**yes, most_amount="1,000", most_unit="kg", status=422)
    assert "This is not kept yet." in shown.text
    assert "This is not kept yet." in crew.sends(further="yes", status=422).text
    shown = crew.sends(further="no")
    assert "On record: no. To change that, call Meadow & Daughter" in shown.text
    assert "further" not in shown.fields
    assert "On record: no." in crew.sends(**yes, status=409).text


def test_it_is_asked_in_the_language_of_the_page(crew):
    told = set()
    for code in LANGUAGES:
        shown = crew.sends(asked=f"?language={code}", further="yes", expires_on="2026-09-30")
        told.add(re.search(r'<h2 id="further">.*?</section>', shown.page, re.DOTALL)[0])
    assert len(told) == len(LANGUAGES)
