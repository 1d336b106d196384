"""Feeds: deliveries in a calendar, a way on a map, every list in a spreadsheet."""

import csv
import html
import io
import json
import re
from xml.etree import ElementTree as Xml

import pytest

from tests.screens import OURS

GPX = "{http://www.topografix.com/GPX/1/1}"


def calendar_of(office, sheet):
    page = html.unescape(office.get(f"/screens/setup/{sheet}").text)
    return re.search(r"http://127\.0\.0\.1:8080(/feeds/\S+\.ics)", page)[1]


def lines_of(answer):
    """Return the lines of a calendar as RFC 5545 has them: each ends in CRLF, none is too long."""
    assert answer.data.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in answer.data.replace(b"\r\n", b"")
    assert max(map(len, answer.data.split(b"\r\n"))) <= 75
    return answer.text.replace("\r\n ", "").split("\r\n")


def test_a_places_deliveries_are_a_calendar_for_whoever_has_its_address(world, yard, office):
    load = yard.client.get(f"/loads/{yard.ids['loads']}").json
    sheet = {"bed": "beds", "compost_site": "sites"}[load["destination_kind"]]
    address = calendar_of(office, sheet)
    stranger = world.app.test_client()
    answer = stranger.get(address)
    assert answer.mimetype == "text/calendar"
    lines = lines_of(answer)
    assert f"UID:{load['id']}@clipping-dispatch" in lines
    assert lines.count("BEGIN:VEVENT") == 1
    (starts,) = [line for line in lines if line.startswith("DTSTART:")]
    assert re.fullmatch(r"DTSTART:20260524T\d{6}Z", starts)
    assert any(line.startswith("SUMMARY:Clippings") for line in lines)
    version = yard.client.get(f"/loads/{load['id']}").json["version"]
    office.post(
        f"/screens/day/loads/{load['id']}",
        data={"act": "refused", "refusal_reason": "Too wet", "version": version},
        headers=OURS,
    )
    lines = lines_of(stranger.get(address))
    assert "STATUS:CANCELLED" in lines
    assert f"SEQUENCE:{version}" in lines


def test_a_calendar_tells_what_stayed_of_a_load_and_the_weight_that_counts(world, yard, office):
    path = f"/loads/{yard.ids['loads']}"
    load = yard.client.get(path).json
    part = {"state": "partly_refused", "refused_share": 0.5, "refusal_reason": "Too much."}
    weighed = {"weighed_net": {"value": 20, "unit": "kg"}, "ticket_review": "accepted"}
    patch = {**part, **weighed, "weigh_ticket": "W-1"}
    said = yard.client.patch(path, json=patch, headers={"If-Match": "*"})
    assert said.status_code == 200, said.text
    sheet = {"bed": "beds", "compost_site": "sites"}[load["destination_kind"]]
    lines = lines_of(world.app.test_client().get(calendar_of(office, sheet)))
    (summary,) = [line for line in lines if line.startswith("SUMMARY:")]
    (told,) = [line for line in lines if line.startswith("DESCRIPTION:")]
    likely = round(load["mass_kg"]["likely"] / 2)
    assert any(f"{near} kg" in summary for near in (likely - 1, likely, likely + 1)), summary
    assert "Weighed: 20 kg." in told


def test_another_signature_or_place_opens_no_calendar(world, office):
    beds, sites = calendar_of(office, "beds"), calendar_of(office, "sites")
    stranger = world.app.test_client()
    signature = beds.split("/")[-2]
    for wrong in (
        sites.replace(sites.split("/")[-2], signature),
        beds.replace(signature, "A" * len(signature)),
        beds.replace("/bed/", "/hold_bay/"),
    ):
        assert stranger.get(wrong).status_code == 404


def test_an_address_of_a_calendar_ends_after_a_year_or_when_the_firm_withdraws_it(
    yard, world, office
):
    stranger, given = world.app.test_client(), calendar_of(office, "sites")
    made, later = given.split("/")[-3], str(int(given.split("/")[-3]) + 1)
    assert stranger.get(given.replace(made, later)).status_code == 404
    world.clock.move(minutes=1)
    ending = f"/screens/setup/sites/records/{yard.ids['compost-sites']}/end-feeds"
    assert office.post(ending, headers=OURS).status_code == 303
    ended = stranger.get(given)
    assert (ended.status_code, ended.json["code"]) == (410, "feed_ended")
    another = calendar_of(office, "sites")
    assert stranger.get(another).status_code == 200
    assert stranger.get(calendar_of(office, "beds")).status_code == 200
    world.clock.move(days=364)
    assert stranger.get(another).status_code == 200
    world.clock.move(days=2)
    assert stranger.get(another).status_code == 410


@pytest.mark.parametrize("path", ["beds", "compost-sites"])
def test_addresses_that_were_withdrawn_stay_so_and_those_to_come_are_not(yard, world, path):
    place = f"/{path}/{yard.ids[path]}"

    def ended(at):
        change = {"feeds_ended_at": at}
        return yard.client.patch(place, json=change, headers={"If-Match": "*"})

    assert ended(world.clock.now().isoformat()).status_code == 200
    for at in (None, "2020-01-01T00:00:00Z", "2099-01-01T00:00:00Z"):
        refused = ended(at)
        assert refused.status_code == 422, at
        assert [fault["pointer"] for fault in refused.json["errors"]] == ["/feeds_ended_at"]
        both = {"name": 7, "feeds_ended_at": at}
        refused = yard.client.patch(place, json=both, headers={"If-Match": "*"})
        pointers = sorted(fault["pointer"] for fault in refused.json["errors"])
        assert pointers == ["/feeds_ended_at", "/name"], at
    world.clock.move(minutes=1)
    assert ended(world.clock.now().isoformat()).status_code == 200


def test_what_people_write_cannot_break_out_of_a_calendar(yard, world, office):
    site = yard.client.get(f"/compost-sites/{yard.ids['compost-sites']}")
    name = "Hill; compost, \\n\u00e4\u00f6 " + "\u20ac" * 60
    yard.client.patch(
        f"/compost-sites/{yard.ids['compost-sites']}",
        json={"name": name},
        headers={"If-Match": site.headers["ETag"]},
    )
    lines = lines_of(world.app.test_client().get(calendar_of(office, "sites")))
    (told,) = [line for line in lines if line.startswith("NAME:")]
    plain = re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], told)
    assert plain == f"NAME:Clippings for {name}"


def test_a_vehicles_way_is_a_route_of_gpx_in_the_order_of_its_stops(yard, office):
    way = f"/screens/day/vehicles/{yard.ids['vehicles']}/way"
    answer = office.get(f"{way}.gpx")
    assert answer.mimetype == "application/gpx+xml"
    root = Xml.fromstring(answer.data)  # noqa: S314 - what we have just written
    assert (root.tag, root.get("version")) == (f"{GPX}gpx", "1.1")
    points = root.findall(f"{GPX}rte/{GPX}rtept")
    depot = yard.ids["depots"]
    routing = yard.client.get(f"/days/2026-05-24/routing?depot_id={depot}").json["routing"]
    stops = routing["vehicles"][0]["stops"]
    assert [float(point.get("lat")) for point in points] == pytest.approx(
        [stop["latitude"] for stop in stops]
    )
    for point in points:  # the schema is a sequence: another order is not valid
        assert [part.tag.removeprefix(GPX) for part in point] == ["time", "name", "desc", "type"]
    told = json.loads(office.get(f"{way}.geojson").data)
    assert told["type"] == "FeatureCollection"
    found = [one["geometry"]["type"] for one in told["features"]]
    assert found.count("Point") >= len(stops)


def test_every_list_is_a_table_without_formulas(yard, office):
    yard.client.post("/clients", json={"name": "=1+1", "phone": "+44 1632 960100"})
    names = re.findall(r"/screens/lists/([a-z-]+)\.csv", office.get("/screens/lists").text)
    assert len(names) == 16
    for name in names:
        answer = office.get(f"/screens/lists/{name}.csv")
        assert (answer.status_code, answer.mimetype) == (200, "text/csv"), name
        for row in csv.reader(io.StringIO(answer.text.lstrip("\ufeff"))):
            starts = {cell[:1] for cell in row if not re.fullmatch(r"-?[\d.e-]+", cell)}
            assert not starts & set("=+-@\t\r"), (name, row)
    text = office.get("/screens/lists/clients.csv").text
    assert "'=1+1" in text
    load, *_ = csv.DictReader(
        io.StringIO(office.get("/screens/lists/loads.csv").text.lstrip("\ufeff"))
    )
    assert load["vehicle"] == "AB12 CDE"
    assert float(load["mass_kg_low"]) < float(load["mass_kg_high"])
