"""What a site asks for and takes holds from a day on: a tip is of the terms of its own day."""

import pytest

from tests.crews import another_crew
from tests.holds import DAY, Yard

FEE = {"basis": "per_load", "amount_cents": 1000, "minimum_cents": 0}
DEARER = FEE | {"amount_cents": 4000}
ALWAYS = [
    {"weekday": day, "opens": "06:00", "closes": "22:00", "last_load": "21:30"} for day in range(7)
]
BY_NIGHT = [
    {"weekday": day, "opens": "18:00", "closes": "22:00", "last_load": "21:30"} for day in range(7)
]


@pytest.fixture
def yard():
    """Return a yard a week after a cut whose tip nobody has reported yet."""
    yard = Yard()
    yard.patch(yard.site, {"fee": FEE, "hours": ALWAYS, "accepted_statuses": ["clean", "unknown"]})
    yard.job = yard.mow(yard.lawn("Front"), at="10:00")
    yard.other = another_crew(yard)
    unknown = {"treatment_history": "unknown", **yard.other}
    yard.unknown = yard.mow(yard.lawn("Unknown"), at="10:30", **unknown)
    yard.world.clock.move(hours=7 * 24)
    return yard


def late(yard, job, *, at=f"{DAY}T12:00:00+01:00", status=201):
    vehicles = {yard.job: yard.ids["vehicles"], yard.unknown: yard.other["vehicle_id"]}
    tip = {
        "vehicle_id": vehicles[job],
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "done_at": at,
        "parts": [{"job_id": job}],
    }
    answer = yard.client.post("/loads", json=tip)
    assert answer.status_code == status, answer.text
    return answer.json


def test_a_late_report_is_charged_at_the_price_of_the_day_of_the_tip(yard):
    site = yard.patch(yard.site, {"fee": DEARER})
    assert late(yard, yard.job)["fee_cents"] == 1000
    assert site["terms_from"] == "2026-05-31"
    assert [one["fee"]["amount_cents"] for one in site["terms_before"]][-1] == 1000


def test_a_tip_of_today_is_charged_at_the_price_of_today(yard):
    yard.patch(yard.site, {"fee": DEARER})
    now = yard.world.clock.now().isoformat()
    assert late(yard, yard.job, at=now)["fee_cents"] == 4000


def test_a_price_that_holds_from_a_day_ahead_is_not_charged_before(yard):
    yard.patch(yard.site, {"fee": DEARER, "terms_from": "2026-06-01"})
    now = yard.world.clock.now().isoformat()
    assert late(yard, yard.job, at=now)["fee_cents"] == 1000


def test_a_price_that_was_on_record_too_late_is_charged_from_its_own_day(yard):
    yard.patch(yard.site, {"fee": DEARER, "terms_from": DAY})
    assert late(yard, yard.job)["fee_cents"] == 4000
    again = yard.patch(yard.site, {"fee": FEE | {"amount_cents": 5000}, "terms_from": DAY})
    assert late(yard, yard.unknown)["fee_cents"] == 5000
    assert all(one["fee"]["amount_cents"] != 4000 for one in again["terms_before"])


def test_a_weight_that_comes_late_is_at_the_price_of_then(yard):
    yard.patch(yard.site, {"fee": {**FEE, "basis": "per_tonne"}, "terms_from": DAY})
    yard.patch(yard.site, {"fee": {**FEE, "basis": "per_tonne", "amount_cents": 9000}})
    load = late(yard, yard.job)
    weighed = {"weighed_net": {"value": 10, "unit": "kg"}, "weigh_ticket": "A1"}
    assert yard.patch(f"/loads/{load['id']}", weighed)["fee_cents"] == 10


def test_what_was_taken_then_is_no_matter_though_less_is_taken_since(yard):
    yard.patch(yard.site, {"accepted_statuses": ["clean"]})
    late(yard, yard.unknown)


def test_what_was_not_taken_then_is_refused_though_it_is_taken_since(yard):
    yard.patch(yard.site, {"accepted_statuses": ["clean"], "terms_from": DAY})
    yard.patch(yard.site, {"accepted_statuses": ["clean", "unknown"]})
    refused = late(yard, yard.unknown, status=409)
    assert "unknown" in str(refused)


@pytest.mark.parametrize(("hours", "count"), [(BY_NIGHT, 0), (ALWAYS, 1)])
def test_a_tip_is_judged_by_the_hours_of_its_own_day(yard, hours, count):
    """Shut by night then and open by now, or the other way round."""
    then = ALWAYS if hours == BY_NIGHT else BY_NIGHT
    yard.patch(yard.site, {"hours": then, "terms_from": DAY})
    yard.patch(yard.site, {"hours": hours})
    late(yard, yard.job)
    about = f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}"
    found = [one["code"] for one in yard.client.get(about).json["decisions"]]
    assert found.count("tipped_where_refused") == count


def test_to_say_from_when_what_is_on_record_holds_changes_nothing_else(yard):
    yard.patch(yard.site, {"fee": DEARER})
    site = yard.patch(yard.site, {"terms_from": "2026-05-28"})
    assert site["fee"] == DEARER
    assert late(yard, yard.job, at="2026-05-29T12:00:00+01:00")["fee_cents"] == 4000
    assert late(yard, yard.unknown, at="2026-05-27T12:00:00+01:00")["fee_cents"] == 1000
