"""Clean clippings that are to be held because of what lies in one body with them."""

from datetime import datetime

import pytest

from tests.crews import DAY, Crew
from tests.screens import OURS, joined


@pytest.fixture
def crew():
    """Return a crew whose time is dear: it never tips once more to keep unlike lots apart."""
    crew = Crew(bay=True)
    crew.crews_cost(10_000)
    return crew


def waiting(crew, code="held_with_worse"):
    answer = crew.client.get(f"/days/{DAY}/decisions?depot_id={crew.ids['depots']}")
    assert answer.status_code == 200, answer.text
    return [one for one in answer.json["decisions"] if one["code"] == code]


def clean_and(crew, **worse):
    crew.plan_to_mow(crew.lawn("Front"), at="14:00", treatment_history="none_recorded")
    worse = crew.plan_to_mow(crew.lawn("Rear"), at="15:00", **worse)
    crew.read()
    return worse


def test_a_lawn_of_which_nobody_knows_is_asked_about_before_clean_clippings_are_held_with_it(crew):
    worse = clean_and(crew, treatment_history="unknown")
    (one,) = waiting(crew)
    assert "Ask what was put on Orchard Street (Rear)" in one["sentence"]
    assert "kg from Orchard Street (Front) are" in one["sentence"]
    assert "Orchard Street (Rear), and nobody knows" in one["sentence"]
    assert one["job_id"] == worse
    assert one["urgency"] == "today"
    mown_at = next(
        stop["at"]
        for vehicle in crew.read()["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job" and stop["job_id"] == worse
    )
    assert datetime.fromisoformat(one["deadline"]) == datetime.fromisoformat(mown_at)
    assert f"/jobs/{worse}" in [way["href"] for way in one["ways"]]
    crew.patch(f"/jobs/{worse}", {"treatment_history": "none_recorded"})
    assert waiting(crew) == []


def test_a_product_on_record_of_which_nobody_knows_what_it_is_is_looked_up_and_not_asked_for(crew):
    lawn = crew.lawn("Rear")
    crew.treated(lawn, active="no such thing")
    crew.plan_to_mow(crew.lawn("Front"), at="14:00", treatment_history="none_recorded")
    crew.plan_to_mow(lawn, at="15:00", treatment_history="known")
    crew.read()
    (one,) = waiting(crew)
    assert "Ask what" not in one["sentence"]
    assert "Look up on the label" in one["sentence"]
    (way,) = [way for way in one["ways"] if "treatments" in way["href"]]
    (treatment,) = crew.client.get(way["href"]).json["items"]
    assert treatment["lawn_id"] == lawn


def test_of_litter_nobody_is_asked_but_it_may_be_mown_last_or_stay_on_its_lawn(crew):
    worse = clean_and(crew, treatment_history="none_recorded", litter_seen=True)
    (one,) = waiting(crew)
    assert "Ask" not in one["sentence"]
    assert "mown last" in one["sentence"]
    crew.patch(f"/jobs/{worse}", {"clippings": "left"})
    crew.read()
    assert waiting(crew) == []


def test_what_is_aboard_already_is_tipped_before_the_clean_lawn_or_that_keeps_its_clippings(crew):
    crew.mow_tainted("litter")
    clean = crew.plan_to_mow(crew.lawn("Clean"), at="14:00", treatment_history="none_recorded")
    crew.read()
    (one,) = waiting(crew)
    assert one["job_id"] == clean
    assert "mown last" not in one["sentence"]
    assert "left on its lawn" in one["sentence"]


def test_nothing_waits_where_all_that_is_held_is_of_one_kind(crew):
    for name in ("Front", "Rear"):
        crew.plan_to_mow(crew.lawn(name), treatment_history="unknown")
    crew.read()
    assert waiting(crew) == []


def suppose(crew, **what):
    body = {"depot_id": crew.ids["depots"], "day": DAY, **what}
    return crew.client.post("/what-ifs", json=body)


def test_what_a_call_or_leaving_the_worse_on_its_lawn_would_gain_is_told_before_it_is_done(crew):
    worse = clean_and(crew, treatment_history="unknown")
    for what in ("untreated_job_ids", "left_on_lawn_job_ids"):
        answer = suppose(crew, **{what: [worse]})
        assert answer.status_code == 200, answer.text
        held_kg = answer.json["held_kg"]
        assert held_kg["before"] > 0
        assert held_kg["after"] == 0
    assert len(waiting(crew)) == 1  # nothing of it is kept


def test_a_supposed_word_cleans_no_lawn_whose_treatment_is_on_record(crew):
    lawn = crew.lawn("Sprayed")
    crew.treated(lawn)
    job = crew.plan_to_mow(lawn, treatment_history="known")
    held_kg = suppose(crew, untreated_job_ids=[job]).json["held_kg"]
    assert held_kg["difference"] == 0


def test_only_what_is_still_to_be_mown_is_supposed_to_stay_on_its_lawn(crew):
    mown = crew.mow_tainted("unknown")
    answer = suppose(
        crew, untreated_job_ids=[mown, crew.ids["depots"]], left_on_lawn_job_ids=[mown]
    )
    assert answer.status_code == 422
    pointers = [fault["pointer"] for fault in answer.json["errors"]]
    assert sorted(pointers) == ["/left_on_lawn_job_ids/0", "/untreated_job_ids/1"]


def test_the_dispatcher_s_screen_leads_from_what_waits_to_what_a_call_would_change(crew):
    worse = clean_and(crew, treatment_history="unknown")
    office = joined(crew.world, crew.yard, "dispatcher")
    page = office.get("/screens/day").text
    assert "Mixed with worse" in page
    (link,) = [part.split('"')[0] for part in page.split('href="') if "about=" in part]
    asked = office.get(link.replace("&amp;", "&")).text
    ticked = f'name="untreated" value="{worse}" checked'
    assert ticked in asked
    form = {"depot": crew.ids["depots"], "day": DAY, "untreated": worse}
    told = office.post("/screens/day/suppose", data=form, headers=OURS).text
    assert "If nothing was put on Orchard Street" in told
    assert ticked in told
