"""A record is changed in its form: what was not touched stays, and every fault is named."""

from html import unescape

import pytest

from service.api.books import clients, sites
from service.core.measures.units import UNITS
from tests.journeys.setting_up.forms import Editing, send
from tests.screens import joined


def test_a_yard_says_what_an_hour_of_its_crews_costs_and_is_shown_it(yard, office):
    depot = Editing(yard, office, "yard", "depots")
    answer = depot.send(depot.fields(), crew_hour="45.00")
    assert answer.status_code == 303, answer.text
    assert depot.kept["crew_minute_cents"] == 75
    fields = depot.fields()
    assert float(fields["crew_hour"]) == 45
    # Something else is changed: the price stays.
    assert depot.send(fields, name="Mill yard").status_code == 303
    assert (depot.kept["name"], depot.kept["crew_minute_cents"]) == ("Mill yard", 75)
    assert depot.send(depot.fields(), crew_hour="").status_code == 303
    assert depot.kept["crew_minute_cents"] is None


def test_a_record_is_changed_in_its_form_and_its_history_says_what_and_why(yard, office):
    vehicle = Editing(yard, office, "vehicles", "vehicles")
    before = vehicle.kept
    fields = vehicle.fields()
    assert float(fields["payload_kg"]) == before["payload_kg"]
    answer = vehicle.send(fields, body_volume_m3="4,25", reason="measured")
    assert (answer.status_code, answer.headers["Location"]) == (
        303,
        "/screens/setup/vehicles?changed=1",
    )
    after = vehicle.kept
    assert after["body_volume_m3"] == 4.25
    new = {"body_volume_m3", "version", "updated_at"}
    assert {k: v for k, v in after.items() if k not in new} == {
        k: v for k, v in before.items() if k not in new
    }
    (amended,) = yard[1].client.get(f"{vehicle.path}/history").json["items"]
    assert (amended["reason"], list(amended["changes"])) == ("measured", ["body_volume_m3"])


@pytest.mark.parametrize(
    ("book", "path"),
    [
        *(("vehicles", "vehicles"), ("crews", "crews"), ("sites", "compost-sites")),
        *(("lawns", "lawns"), ("places", "properties"), ("clients", "clients")),
        *(("beds", "beds"), ("bays", "hold-bays"), ("yard", "depots")),
    ],
)
def test_a_form_that_is_sent_back_as_it_came_changes_nothing(yard, office, book, path):
    record = Editing(yard, office, book, path)
    answer = record.send(record.fields())
    assert answer.status_code == 200
    assert "Nothing was changed" in answer.text
    assert record.kept["version"] == 1


@pytest.mark.parametrize("unit", [unit.code for unit in UNITS.values() if unit.quantity == "area"])
def test_an_area_keeps_the_unit_it_was_told_in_when_its_form_is_sent_back(yard, office, unit):
    lawn = Editing(yard, office, "lawns", "lawns")
    area = {"value": 30, "unit": unit}
    told = yard[1].client.patch(lawn.path, json={"area": area}, headers={"If-Match": "*"})
    assert told.status_code == 200, told.text
    assert lawn.send(lawn.fields(), lawn="Behind the house").status_code == 303
    assert lawn.kept["area"] == {**area, "value": 30.0}
    assert f"30 {unit}" not in office.get("/screens/setup/lawns").text


def test_what_a_form_cannot_show_stays_as_it_is(yard, office):
    site = Editing(yard, office, "sites", "compost-sites")
    hours = [
        {"weekday": 0, "opens": "07:30", "closes": "17:00", "last_load": "16:30"},
        {"weekday": 5, "opens": "08:00", "closes": "12:00", "last_load": "11:30"},
    ]
    change = {"hours": hours, "closed_on": ["2026-12-25"]}
    assert (
        yard[1].client.patch(site.path, json=change, headers={"If-Match": "*"}).status_code == 200
    )
    before = site.kept
    assert site.send(site.fields(), daily_capacity_kg="4000").status_code == 303
    after = site.kept
    assert after["daily_capacity_kg"] == 4000
    same = ("hours", "closed_on", "fee", "live_status", "accepted_statuses")
    assert [after[name] for name in same] == [before[name] for name in same]


def test_two_who_change_a_record_at_once_are_told_and_neither_undoes_the_other(yard, office):
    bed = Editing(yard, office, "beds", "beds")
    mine = bed.fields()
    other = {"slope_percent": 7, "where_to_lay": "Behind the hedge"}
    assert yard[1].client.patch(bed.path, json=other, headers={"If-Match": "*"}).status_code == 200
    told = bed.send(mine, slope_percent="3", drainage="moderate")
    assert told.status_code == 412
    page = unescape(told.text)
    assert "Somebody changed this bed since you opened it" in page
    assert "Slope [%]: 7 on record now; you wrote 3" in page
    assert (bed.kept["slope_percent"], bed.kept["version"]) == (7, 2)
    assert bed.send(bed.fields(told)).status_code == 303
    kept = bed.kept
    assert (kept["slope_percent"], kept["drainage"]) == (3, "moderate")
    assert kept["where_to_lay"] == "Behind the hedge"


def test_every_fault_of_a_changed_form_is_named_and_nothing_is_kept(yard, office):
    bed = Editing(yard, office, "beds", "beds")
    told = bed.send(bed.fields(), area="none", slope_percent="900")
    assert told.status_code == 422
    assert told.text.count("Write a number") == 2
    assert 'value="900"' in told.text
    wrong = bed.send(bed.fields(), legal_basis="permit", reference="", basis_until="")
    assert wrong.status_code == 422
    assert "A registered exemption or a permit has its reference and its last day." in wrong.text
    assert bed.kept["version"] == 1


@pytest.mark.parametrize(
    ("book", "path", "name"),
    [
        ("lawns", "lawns", "area_unit"),
        ("beds", "beds", "area_unit"),
        ("sites", "compost-sites", "accepted_statuses"),
        ("clients", "clients", "language"),
        ("crews", "crews", "language"),
    ],
)
def test_what_cannot_be_nothing_is_not_emptied_into_something_else(yard, office, book, path, name):
    record = Editing(yard, office, book, path)
    fields = record.fields()
    fields.setlist(name, [])
    fields.add(name, "")
    told = record.send(fields)
    assert told.status_code == 422, told.text
    assert record.kept["version"] == 1


def test_a_record_does_not_take_the_name_of_another(yard, office):
    send(office, "vehicles", registration="NEW 1", payload_kg="900", body_volume_m3="4.5")
    vehicle = Editing(yard, office, "vehicles", "vehicles")
    told = vehicle.send(vehicle.fields(), registration="new 1")
    assert told.status_code == 422
    assert "This vehicle is on record already." in told.text


def test_crews_and_gates_change_no_record(yard, office):
    vehicle = Editing(yard, office, "vehicles", "vehicles")
    fields = vehicle.fields()
    vehicle.office = joined(*yard, "crew", crew_id=yard[1].ids["crews"])
    assert vehicle.send(fields, payload_kg="1").status_code == 403
    assert vehicle.office.get(vehicle.address).status_code == 403


def another_yard(yard):
    """Keep a second yard; return its id."""
    body = {**sites.DEPOTS.example, "name": "South yard"}
    answer = yard[1].client.post("/depots", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json["id"]


@pytest.mark.parametrize(
    ("book", "path"), [("vehicles", "vehicles"), ("crews", "crews"), ("bays", "hold-bays")]
)
def test_what_is_of_a_yard_moves_to_another_in_its_form(yard, office, book, path):
    south = another_yard(yard)
    record = Editing(yard, office, book, path)
    assert record.fields()["yard"] != "South yard"
    unknown = record.send(record.fields(), yard="West yard")
    assert unknown.status_code == 422
    assert "Nothing of that name is on record: West yard." in unknown.text
    assert record.send(record.fields(), yard="south yard").status_code == 303
    assert record.kept["depot_id"] == south


@pytest.mark.parametrize(("book", "path"), [("lawns", "lawns"), ("beds", "beds")])
def test_a_lawn_or_bed_moves_to_another_clients_place_in_its_form(yard, office, book, path):
    record = Editing(yard, office, book, path)
    send(
        office,
        "lawns",
        client="N. Owner",
        address="4 High Street",
        locality="Oxford",
        point="51.7540, -1.2400",
        lawn="Back",
        area="90",
        area_unit="m2",
    )
    places = yard[1].client.get("/properties").json["items"]
    (place,) = [one for one in places if one["address"] == "4 High Street"]
    nowhere = record.send(record.fields(), client="N. Owner")
    assert nowhere.status_code == 422
    assert "This client has no place at this address on record." in nowhere.text
    moved = record.send(record.fields(), client="N. Owner", address="4 High Street")
    assert moved.status_code == 303, moved.text
    assert record.kept["property_id"] == place["id"]


def test_a_place_gets_another_client_in_its_form(yard, office):
    place = Editing(yard, office, "places", "properties")
    body = {**clients.CLIENTS.example, "name": "N. Owner"}
    other = yard[1].client.post("/clients", json=body).json["id"]
    assert place.send(place.fields(), client="").status_code == 422
    assert place.send(place.fields(), client="N. Owner").status_code == 303
    assert place.kept["client_id"] == other
