"""The owner's month: every figure has a drawing, a table and a sheet that say the same."""

import csv
import io
import re

import pytest

from service.pages.month.charts import Bar, chart_of
from tests.screens import OURS, joined
from tests.worlds import furnish, make_world, work

FIGURES = ("outcomes", "costs", "weights", "held", "beds")


@pytest.fixture
def yard():
    world = make_world()
    return world, work(furnish(world))


def sheet(owner, name, **query):
    answer = owner.get(f"/screens/month/{name}.csv", query_string=query)
    assert (answer.status_code, answer.mimetype) == (200, "text/csv")
    return list(csv.DictReader(io.StringIO(answer.text.lstrip("\ufeff"))))


def test_a_month_says_where_it_went_what_it_cost_and_how_good_the_estimate_was(yard):
    world, firm = yard
    owner = joined(world, firm, "owner")
    loads = firm.client.get("/loads").json["items"]
    for load in loads:
        said = {"act": "delivered", "version": load["version"]}
        owner.post(f"/screens/day/loads/{load['id']}", data=said, headers=OURS)
    load = loads[0]
    weighed_kg = load["mass_kg"]["likely"] * 1.1
    version = firm.client.get(f"/loads/{load['id']}").json["version"]
    said = {"act": "weighed", "weighed_kg": f"{weighed_kg:.1f}", "weigh_ticket": "W-1"}
    owner.post(f"/screens/day/loads/{load['id']}", data={**said, "version": version}, headers=OURS)

    page = owner.get("/screens/month").text
    assert "style=" not in page
    for name in FIGURES:
        assert f'id="{name}"' in page
    counted = sum(float(row["counted_t"]) for row in sheet(owner, "outcomes"))
    others = sum(one["mass_kg"]["likely"] for one in loads[1:])
    assert counted == pytest.approx((weighed_kg + others) / 1000, abs=0.01)
    (week,) = sheet(owner, "costs")
    total = sum(float(week[part]) for part in ("fees_GBP", "way_GBP", "time_GBP"))
    assert float(week["cost_GBP"]) == pytest.approx(total, abs=0.02)
    # Of less than a tonne a cost of a tonne would say only how little there was.
    assert float(week["tonnes"]) < 1
    assert week["per_tonne_GBP"] == ""
    assert f"GBP {float(week['cost_GBP']):,.2f} for " in page
    assert (
        "a tonne"
        not in page[page.index("GBP ") : page.index('id="weights"')].partition("</svg>")[0]
    )
    (ticket,) = sheet(owner, "weights")
    assert (ticket["ticket"], ticket["inside"]) == ("W-1", "yes")
    assert "1 of 1 weights lie between the ends of their estimates" in page
    laid = [row for row in sheet(owner, "beds") if float(row["used_percent"]) > 0]
    assert bool(laid) == any(one["destination_kind"] == "bed" for one in loads)
    assert sheet(owner, "outcomes", month="2026-04") == []


def test_a_month_is_the_owners_and_is_asked_for_by_its_name(yard):
    world, firm = yard
    owner = joined(world, firm, "owner")
    assert owner.get("/screens/month?month=May").status_code == 422
    assert owner.get("/screens/month/anything.csv").status_code == 404
    assert joined(world, firm, "dispatcher").get("/screens/month").status_code == 403


def test_a_scale_begins_at_nought_and_holds_every_end():
    chart = chart_of(
        [Bar(label="a", value=3, low=1, high=7.3, told=""), Bar(label="b", value=0, told="")]
    )
    assert chart.ticks[0] == (6.0, "0")
    last = float(re.sub("[^0-9.]", "", chart.ticks[-1][1]))
    assert last >= 7.3
    assert max(x for x, _ in chart.ticks) == 594.0
    assert chart.bars[0].low < chart.bars[0].width + 6 < chart.bars[0].high
    assert chart.bars[1].width == 0
