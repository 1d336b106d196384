"""Sheets are tried in a database as in memory, which holds nobody to what a record names."""

import pytest

from tests.journeys.setting_up.forms import send
from tests.screens import joined
from tests.worlds import furnish, make_world

HEADING = "client,address,locality,lawn,point,area\n"


@pytest.fixture
def yard(open_unit, open_reading):
    world = make_world(open_unit, open_reading)
    return world, furnish(world)


@pytest.mark.parametrize("form", [{}, {"keep": "1"}], ids=["tried", "kept"])
@pytest.mark.parametrize(
    ("swapped", "area", "told"),
    [(True, 240, "the other way round"), (False, "much", "This rests on row 2")],
    ids=["refused by the books", "unreadable"],
)
def test_what_rests_on_a_row_that_is_refused_is_not_tried_and_says_so(
    yard, form, swapped, area, told
):
    lon, lat = yard[1].client.get(f"/depots/{yard[1].ids['depots']}").json["point"]["coordinates"]
    point = f'"{lon}, {lat}"' if swapped else f'"{lat}, {lon}"'
    first = f"Far Away,1 Elm Street,Oxford,Front,{point},{area}\n"
    second = f"Far Away,1 Elm Street,Oxford,Back,{point},240\n"
    apart = f'Ann Lee,2 Elm Street,Oxford,Front,"{lat}, {lon}",240\n'
    office = joined(*yard, "dispatcher")
    answer = send(office, "lawns/sheet", text=HEADING + first + second + apart, **form)
    assert answer.status_code == 422, answer.text
    assert told in answer.text
    assert "This rests on row 2" in answer.text
    assert "Row 4" not in answer.text
    assert "Far Away" not in office.get("/screens/setup/lawns").text
