"""A gate reads and writes masses as its weighbridge does: pounds and short tons in the US."""

import re

import pytest

from service.documents.rendering.reader import Reader
from service.pages.scales import Scales
from tests.journeys.screens.gate.loads import load_of
from tests.screens import OURS, joined

# 0.453 592 37 kg exactly, and 2,000 of it: NIST SP 811 (2008), appendix B.8.
POUND_KG = 0.45359237
SHORT_TON_KG = 907.18474


@pytest.fixture
def gate(world, yard):
    return joined(world, yard, "site", compost_site_id=yard.ids["compost-sites"])


def in_country(yard, jurisdiction):
    site = f"/compost-sites/{yard.ids['compost-sites']}"
    said = {"jurisdiction": jurisdiction}
    answer = yard.client.patch(site, json=said, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text


def read(gate):
    return gate.get("/screens/gate").text.replace("\xa0", " ")


def say(gate, load, **form):
    return gate.post(f"/screens/gate/loads/{load['id']}", data=form, headers=OURS)


@pytest.mark.parametrize(
    ("unit", "weighed", "kg"),
    [("[lb_av]", "37", 37 * POUND_KG), ("[ston_av]", "0.02", 0.02 * SHORT_TON_KG)],
)
def test_a_gate_in_the_us_reads_pounds_and_writes_pounds_or_short_tons(
    yard, gate, unit, weighed, kg
):
    in_country(yard, "US-OH")
    load = load_of(yard)
    low, high = (round(load["mass_kg"][end] / POUND_KG) for end in ("low", "high"))
    page = read(gate)
    assert f"{low} lb to {high} lb" in page
    assert re.findall(r"\d kg|\[kg\]| kg more", page) == []
    ticket = {"weighed_net": weighed, "weighed_unit": unit, "weigh_ticket": "W-9"}
    assert say(gate, load, act="delivered", seen="planned", **ticket).status_code == 303
    kept = load_of(yard)
    assert kept["weighed_net"] == {"value": float(weighed), "unit": unit}
    assert kept["weighed_net_kg"] == pytest.approx(kg, abs=0.01)
    said = {"[lb_av]": f'weighed <span class="number">{weighed} lb', "[ston_av]": "0.02 short tons"}
    assert said[unit] in read(gate)


def test_both_ends_of_a_range_are_in_one_unit():
    in_us, elsewhere = (Scales(reader=Reader("en"), is_us=is_us) for is_us in (True, False))
    assert in_us.range(500, 700).replace("\xa0", " ") == "1,102 lb to 1,543 lb"
    told = in_us.range(SHORT_TON_KG * 0.9, SHORT_TON_KG * 1.5)
    assert told.replace("\xa0", " ") == "0.9 short tons to 1.5 short tons"
    assert elsewhere.range(900, 1200).replace("\xa0", " ") == "0.9 t to 1.2 t"


def test_a_gate_in_the_us_says_its_room_in_pounds(yard, gate):
    in_country(yard, "US")
    form = {"state": "open", "room_lb": "2000"}
    assert gate.post("/screens/gate", data=form, headers=OURS).status_code == 303
    said = yard.client.get(f"/compost-sites/{yard.ids['compost-sites']}").json["live_status"]
    assert said["capacity_left_kg"] == pytest.approx(SHORT_TON_KG, abs=0.01)
    assert "room for 1 short ton more" in read(gate)


def test_a_gate_elsewhere_reads_and_writes_kilograms(yard, gate):
    load = load_of(yard)
    page = read(gate)
    assert f"{load['mass_kg']['low']:.0f} kg to" in page
    assert 'name="weighed_kg"' in page
    assert "weighed_unit" not in page
    # A unit that no weighbridge of the form has is refused, and nothing is taken for kilograms.
    ticket = {"weighed_net": "37", "weighed_unit": "stone", "weigh_ticket": "W-9"}
    assert say(gate, load, act="delivered", seen="planned", **ticket).status_code == 422
