"""A property is sold: what was cut and laid before stays its former client's, in sums and calls."""

import pytest

from tests.crews import DAY, Crew
from tests.journeys.test_http_recall import code_of, recall, tip_all

MONTH = {"since": "2026-05-01", "until": "2026-06-30", "by": "month"}


@pytest.fixture
def crew(world):
    return Crew(bay=True, world=world)


def sell(crew, *, days):
    """Let days go by, then give the property to somebody else; return both clients."""
    crew.world.clock.move(minutes=60 * 24 * days)
    mine = crew.client.get(f"/clients/{crew.ids['clients']}").json
    theirs = crew.post("/clients", {"name": "The next", "phone": "+44 1632 960777"})
    crew.patch(f"/properties/{crew.ids['properties']}", {"client_id": theirs["id"]})
    return mine["name"], theirs["name"]


def by_client(crew):
    query = {"depot_id": crew.ids["depots"], **MONTH}
    rows = crew.client.get("/totals", query_string=query).json["sums"]
    return {(row["by"], row["name"]) for row in rows if row["by"].startswith("client_")}


def test_a_month_s_sums_name_whose_it_was_on_the_day(crew):
    crew.mow(crew.lawn("Front"), at="09:00")
    tip_all(crew)
    before = by_client(crew)
    mine, _ = sell(crew, days=9)
    assert by_client(crew) == before == {("client_cut", mine), ("client_laid", mine)}


def test_a_recall_calls_whose_the_bed_was_and_whose_it_is(crew):
    front = crew.lawn("Front")
    job = crew.mow(front, at="09:00")
    tip_all(crew)
    mine, theirs = sell(crew, days=9)
    people = recall(crew, lot_code=code_of(crew, job), since=DAY)["people"]
    assert {one["name"] for one in people} == {mine, theirs}
    assert people[0]["say"] == people[1]["say"]
