"""A fact that is dated ahead of its record would act on no day, or a wrong one: it is refused."""

import pytest

from tests.holds import Yard

NEXT_YEAR = "2027-05-08"
TOMORROW = "2026-05-25T10:00:00+01:00"
THIS_MORNING = "2026-05-24T08:00:00+01:00"


@pytest.fixture
def yard():
    return Yard()


def faults(answer):
    assert answer.status_code == 422, answer.text
    return {one["pointer"] for one in answer.json["errors"]}


def patched(yard, path, body):
    return yard.client.patch(path, json=body, headers={"If-Match": "*"})


def test_a_treatment_of_next_year_is_refused_and_its_lawn_not_taken_for_clean(yard):
    body = {
        "lawn_id": yard.lawn("Front"),
        "product": "Lawn treatment",
        "active_ingredients": ["clopyralid"],
        "applied_on": NEXT_YEAR,
        "statement_source": "applicator_record",
        "stated_by": "T. Green, spray technician",
    }
    assert faults(yard.client.post("/treatments", json=body)) == {"/applied_on"}
    kept = yard.post("/treatments", body | {"applied_on": "2026-05-10"})
    amended = patched(yard, f"/treatments/{kept['id']}", {"applied_on": NEXT_YEAR})
    assert faults(amended) == {"/applied_on"}


def test_ground_that_was_looked_at_tomorrow_is_refused(yard):
    seen = {"ground_state": "firm", "ground_state_at": TOMORROW}
    assert faults(patched(yard, yard.bed, seen)) == {"/ground_state_at"}
    assert patched(yard, yard.bed, seen | {"ground_state_at": THIS_MORNING}).status_code == 200


@pytest.mark.parametrize(
    ("word", "named"),
    [
        ({"state": "closed"}, "as_of"),
        ({"state": "closed", "as_of": TOMORROW}, "as_of"),
        (
            {
                "state": "open",
                "as_of": THIS_MORNING,
                "closes_early_at": "2026-05-24T07:00:00+01:00",
            },
            "closes_early_at",
        ),
        (
            {"state": "open", "as_of": THIS_MORNING, "closes_early_at": TOMORROW},
            "closes_early_at",
        ),
    ],
    ids=["without an hour", "said tomorrow", "shuts before it was said", "shuts a day later"],
)
def test_a_word_of_a_site_that_would_act_on_no_day_is_refused(yard, word, named):
    before = patched(yard, yard.site, {"live_status": {"state": "unknown", "as_of": None}})
    assert before.status_code == 200
    assert faults(patched(yard, yard.site, {"live_status": word})) == {f"/live_status/{named}"}


def test_closed_said_after_open_has_an_hour_of_its_own(yard):
    word = {"state": "open", "as_of": THIS_MORNING}
    assert patched(yard, yard.site, {"live_status": word}).status_code == 200
    shut = patched(yard, yard.site, {"live_status": {"state": "closed"}})
    assert faults(shut) == {"/live_status/as_of"}
    later = {"state": "closed", "as_of": "2026-05-24T09:00:00+01:00"}
    assert patched(yard, yard.site, {"live_status": later}).status_code == 200
    # What was kept hinders no other change.
    assert patched(yard, yard.site, {"phone": "+44 20 7946 0958"}).status_code == 200


def test_a_gate_that_is_open_past_midnight_shuts_early_after_it(yard):
    yard.world.clock.move(hours=10)
    word = {
        "state": "open",
        "as_of": yard.world.clock.now().isoformat(),
        "closes_early_at": "2026-05-25T00:30:00+01:00",
    }
    assert patched(yard, yard.site, {"live_status": word}).status_code == 200
