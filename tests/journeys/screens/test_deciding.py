"""What waits for the dispatcher: a row for each matter, in two lines, answered where it stands."""

import re
from html import unescape

import pytest

from tests.crews import DAY as TODAY
from tests.depots import DAY, Depot
from tests.holds import Yard
from tests.screens import OURS, joined

OLD = {"ground_state": "firm", "ground_state_at": "2026-05-18T09:00:00Z"}


@pytest.fixture
def depot():
    """Return a depot on the eve of its day; the ground of its beds was seen a week ago."""
    depot = Depot(vehicles=4)
    for bed in depot.client.get("/beds").json["items"]:
        depot.amend(f"/beds/{bed['id']}", OLD)
    depot.amend(f"/compost-sites/{depot.ids['compost-sites']}", {"closed_on": [DAY]})
    depot.plan()
    return depot


def rows(page):
    return re.findall(r'<div class="toned matter.*?</div>', page, re.DOTALL)


def test_beds_to_be_looked_at_are_one_row_and_each_is_answered_in_it(depot):
    office = joined(depot.world, depot.yard, "dispatcher")

    def asked():
        page = office.get(f"/screens/day?day={DAY}").text
        found = [row for row in rows(page) if "Look at the ground" in row]
        return [path for row in found for path in re.findall(r'action="([^"]*/ground)"', row)]

    before = asked()
    assert len(before) > 1
    form = {"depot": depot.ids["depots"], "ground_state": "firm"}
    said = office.post(before[0], data=form, headers=OURS)
    assert said.status_code == 303, said.text
    assert before[0] not in asked()
    bed = before[0].removeprefix("/screens/day").removesuffix("/ground")
    kept = depot.client.get(bed).json
    assert kept["ground_state_at"] > OLD["ground_state_at"]
    faulty = {**form, "ground_state": "muddy"}
    assert office.post(before[1], data=faulty, headers=OURS).status_code == 422


def test_a_caution_is_read_with_the_first_heap_that_it_is_of_before_anything_is_opened():
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held(at="10:00")
    yard.world.clock.move(hours=9)
    told = yard.client.get(f"/days/{TODAY}/decisions?depot_id={yard.ids['depots']}").json
    bearing = [one for one in told["decisions"] if one["caution"]]
    page = joined(yard.world, yard, "dispatcher").get(f"/screens/day?day={TODAY}").text
    caution = bearing[0]["caution"]
    assert unescape(page).count(caution) == 1
    (row,) = [one for one in rows(page) if caution in unescape(one)]
    assert "In the bay" in row
    assert caution not in unescape(row[: row.index("</details>")])


def test_every_row_s_way_leads_somewhere_on_the_page_or_to_a_page(depot):
    office = joined(depot.world, depot.yard, "dispatcher")
    bed = depot.client.get("/beds").json["items"][0]
    depot.amend(f"/beds/{bed['id']}", {"consent": {"state": "given", "expires_on": "2026-05-28"}})
    page = office.get(f"/screens/day?day={DAY}").text
    ways = [way for row in rows(page) for way in re.findall(r'href="([^"]+)"', row)]
    assert f"/screens/setup/beds/records/{bed['id']}" in ways
    lost = [
        way
        for way in ways
        if (way.startswith("#") and f'id="{way[1:]}"' not in page)
        or (way.startswith("/") and office.get(way).status_code != 200)
    ]
    assert lost == []


def test_what_each_vehicle_and_gate_is_asked_has_a_name_of_its_own(depot):
    """Read out one after the other, seven times "It is out" tells nobody of which."""
    office = joined(depot.world, depot.yard, "dispatcher")
    page = office.get(f"/screens/day?day={DAY}").text
    asked = re.findall(r"<summary>((?:It is out|The gate says otherwise).*?)</summary>", page)
    assert len(asked) > 1
    assert len(set(asked)) == len(asked)
