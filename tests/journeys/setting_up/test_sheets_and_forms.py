"""Setting up: an empty firm's records by form and by sheet, all of a sheet or nothing of it."""

import io
import re
from html import unescape

import pytest

from tests.journeys.setting_up.forms import LAWNS, read, send
from tests.screens import OURS, joined
from tests.worlds import Yard

LAWN_COLUMNS = "client,address,locality,latitude,longitude,area"
YARD = {
    "name": "North yard",
    "address": "1 Mill Lane",
    "point": "51°45'07\"N 1°15'28\"W",
    "time_zone": "Europe/London",
    "jurisdiction": "gb-eng",
}


def test_a_sheet_is_tried_first_and_then_kept_whole(yard, office):
    client = yard[1].client
    before = len(client.get("/lawns").json["items"])
    tried = send(office, "lawns/sheet", text=LAWNS)
    assert tried.status_code == 200
    assert "2 of 2 rows would be kept" in tried.text
    assert len(client.get("/lawns").json["items"]) == before
    assert send(office, "lawns/sheet", text=LAWNS, keep="1").status_code == 303
    assert len(client.get("/lawns").json["items"]) == before + 2
    (ann,) = client.get("/clients?name=Ann Lee").json["items"]
    assert ann["phone"] == "+44 1632 960301"
    places = client.get(f"/properties?client_id={ann['id']}").json["items"]
    assert [place["point"]["coordinates"] for place in places] == [
        [-1.25, 51.754],
        [-1.251, 51.755],
    ]
    again = send(office, "lawns/sheet", text=LAWNS)
    assert "2 are on record already" in again.text
    assert "would be kept; 2" in again.text


def test_every_faulty_cell_of_a_sheet_is_named_at_once_and_nothing_is_kept(yard, office):
    text = (
        "registration,payload_kg,body_volume_m3,gross_limit_kg,tare_kg,colour\n"
        'AA1,"1,100",4.5,,,red\n'
    )
    told = send(office, "vehicles/sheet", text=text, keep="1").text
    assert "There is no such column here." in told
    text = (
        "registration,payload_kg,body_volume_m3,gross_limit_kg,tare_kg\n"
        'AA1,"1,100",4.5,,\n'
        "AA2,900,x,,\n"
        ",-5,3,,\n"
        "AA4,1500,6,3500,2500\n"
        "aa4,800,6,,\n"
    )
    answer = send(office, "vehicles/sheet", text=text, keep="1")
    assert answer.status_code == 422
    for row, words in (
        (2, "1,100 can be read in two ways: write 1100, or 1.1."),
        (3, "Write a number above 0 to 120."),
        (4, "Write something here: it is empty."),
        (4, "Write a number above 0 to 40,000."),
        (5, "Gross limit less tare leaves 1000 kg: the most payload."),
        (6, "This is what row 5 says already."),
    ):
        assert f'<td class="number">{row}</td>' in answer.text
        assert words in answer.text
    assert "6 cells cannot stay as they are" in answer.text
    assert len(yard[1].client.get("/vehicles").json["items"]) == 1


def test_a_point_beside_a_decimal_comma_is_asked_about_wherever_in_the_sheet_it_stands(office):
    head = "registration;payload_kg;body_volume_m3\n"
    for rows in ("AA1;1.200;6,5\n", "AA1;900;6,5\nAA2;1.200;6\n", "AA1;1.200;0,250\n"):
        answer = send(office, "vehicles/sheet", text=head + rows)
        assert answer.status_code == 422, rows
        assert "1.200 can be read in two ways: write 1200, or 1.2." in answer.text
    for rows in ("AA1;1200;6,5\n", "AA1;1200.5;6,5\n", "AA1;900;6.125\n"):
        assert send(office, "vehicles/sheet", text=head + rows).status_code == 200, rows


def upload(office, body):
    file = {"file": (io.BytesIO(body), "list.csv"), "text": ""}
    return office.post("/screens/setup/lawns/sheet", data=file, headers=OURS)


def test_unicode_text_of_a_spreadsheet_is_read_and_a_workbook_gets_one_sentence(office):
    tabbed = LAWNS.replace(";", "\t").replace("Ann Lee", "Zoë Łach")
    for name in ("utf-16", "utf-8-sig", "utf-8"):
        tried = upload(office, tabbed.encode(name))
        assert "2 of 2 rows would be kept" in tried.text, name
    big_endian = b"\xfe\xff" + tabbed.encode("utf-16-be")
    assert "2 of 2 rows would be kept" in upload(office, big_endian).text
    for body in (
        b"PK\x03\x04\x14\x00\x06\x00",
        b"PK\x03\x04xlsx",
        bytes.fromhex("d0cf11e0a1b11ae1"),
        tabbed.encode("utf-16-le"),
    ):
        refused = upload(office, body)
        assert refused.status_code == 422
        assert refused.text.count("save the sheet as CSV (UTF-8)") == 1
        assert "There is no such column" not in refused.text
        assert "cannot stay" not in refused.text


def test_rows_that_contradict_each_other_or_what_is_on_record_are_faults(office):
    text = LAWNS + "Ann Lee;01632 960399;3 Elm Street;Oxford;51.7;-1.2;100;;\n"
    told = send(office, "lawns/sheet", text=text).text
    assert "In row 2 it is +44 1632 960301; which is right?" in told
    send(office, "lawns/sheet", text=LAWNS, keep="1")
    told = send(office, "lawns/sheet", text=text).text
    assert "On record it is +44 1632 960301; which is right?" in told


def test_a_long_list_is_read_by_pages_and_searched_by_any_words_of_a_row(office):
    rows = "".join(f"Client {n:02},{n} Elm Street,Oxford,51.7,-1.2,100\n" for n in range(45))
    send(office, "lawns/sheet", text=f"{LAWN_COLUMNS}\n{rows}", keep="1")
    told, address = [], "/screens/setup/lawns"
    while address:
        page = office.get(address).text
        told.append(re.findall(r"<summary>(Client \d\d),", page))
        following = re.search(r'href="([^"#]+)#rows">Next<', page)
        address = following and unescape(following[1])
    assert [name for names in told for name in names] == [f"Client {n:02}" for n in range(45)]
    assert max(map(len, told)) == 20
    found = office.get("/screens/setup/lawns?find=street+CLIENT+07").text
    assert re.findall(r"<summary>(Client \d\d),", found) == ["Client 07"]
    assert "1 of 46 found" in found
    assert "0 of 46 found" in office.get("/screens/setup/lawns?find=nobody&page=9").text


def test_an_area_in_a_list_has_its_unit_beside_it(yard, office):
    _, yard = yard
    area = yard.client.get(f"/beds/{yard.ids['beds']}").json["area"]
    assert area["unit"] == "m2"
    assert f"{area['value']:g} m²" in office.get("/screens/setup/beds").text


def test_a_bed_of_somebody_who_is_not_on_record_is_a_fault(office):
    text = "client,address,bed,area,legal_basis\nNobody,1 Elm Street,Border,30,permit\n"
    assert (
        "Nothing of that name is on record: Nobody." in send(office, "beds/sheet", text=text).text
    )
    send(office, "lawns/sheet", text=LAWNS, keep="1")
    text = (
        "client,address,bed,area,legal_basis\n"
        "ann lee,9 Elm Street,Border,30,permit\n"
        "Ann Lee,1 elm street,Border,30,permit\n"
    )
    told = send(office, "beds/sheet", text=text).text
    assert "This client has no place at this address on record." in told
    assert "A registered exemption or a permit has its reference and its last day." in told


def test_what_a_list_says_can_be_taken_in_again_and_no_cell_of_it_is_a_formula(yard, office):
    send(office, "lawns/sheet", text=LAWNS.replace("Ann Lee", "=cmd|'/c calc'!A0"), keep="1")
    text = office.get("/screens/setup/lawns.csv").text
    assert "'=cmd|" in text
    assert "'+44 1632 960301" in text
    assert "\n=cmd" not in text
    assert "would be kept; 3 are on record already" in send(office, "lawns/sheet", text=text).text
    for book in ("yard", "vehicles", "crews", "sites", "bays", "beds"):
        told = send(office, f"{book}/sheet", text=office.get(f"/screens/setup/{book}.csv").text)
        assert "1 is on record already" in told.text, (book, told.text)
    for book in ("vehicles", "crews", "sites", "bays"):
        empty = office.get(f"/screens/setup/{book}/empty.csv").text
        assert send(office, f"{book}/sheet", text=empty).status_code in {200, 422}
    assert yard[1].client.get("/clients?name==cmd|'/c calc'!A0").status_code == 200


def test_a_form_keeps_one_and_says_what_is_wrong_where_it_is(office):
    told = send(office, "yard", **{**YARD, "point": "somewhere", "jurisdiction": "England"})
    assert told.status_code == 422
    assert "Write latitude, then longitude" in told.text
    assert 'value="1 Mill Lane"' in told.text
    assert send(office, "yard", **YARD).status_code == 303
    (kept,) = [row for row in read(office, "yard") if row["name"] == "North yard"]
    assert kept["point"] == "51.751944, -1.257778"
    assert "This yard is on record already." in send(office, "yard", **YARD).text


def test_the_example_of_an_empty_sheet_is_no_record(yard, office):
    for book in ("yard", "vehicles", "crews", "lawns", "beds", "sites", "bays"):
        empty = office.get(f"/screens/setup/{book}/empty.csv").text
        for form in ({}, {"keep": "1"}):
            told = send(office, f"{book}/sheet", text=empty, **form)
            assert "This row is the example: delete it" in told.text, book
    before = len(yard[1].client.get("/vehicles").json["items"])
    empty = office.get("/screens/setup/vehicles/empty.csv").text
    assert send(office, "vehicles/sheet", text=empty, keep="1").status_code == 422
    assert len(yard[1].client.get("/vehicles").json["items"]) == before
    own = empty.replace("AB12 CDE", "CD34 EFG")
    assert send(office, "vehicles/sheet", text=own, keep="1").status_code == 303


def test_what_nothing_names_is_deleted_and_what_is_named_is_not(yard, office):
    answer = send(office, f"yard/records/{yard[1].ids['depots']}/delete")
    assert answer.status_code == 409
    send(office, "vehicles", registration="NEW 1", payload_kg="900", body_volume_m3="4.5")
    (new,) = [
        one
        for one in yard[1].client.get("/vehicles").json["items"]
        if one["registration"] == "NEW 1"
    ]
    assert send(office, f"vehicles/records/{new['id']}/delete").status_code == 303


def test_crews_and_gates_do_not_set_the_firm_up(yard):
    world, firm = yard
    crew = joined(world, firm, "crew", crew_id=firm.ids["crews"])
    for address in ("setup", "setup/lawns", "setup/lawns.csv", "setup/work"):
        assert crew.get(f"/screens/{address}").status_code == 403


def test_an_empty_firm_is_led_from_its_first_look_to_what_it_must_say(yard):
    world = yard[0]
    firm = world.firm("Empty")
    owner = joined(world, Yard(client=world.client(firm), ids={}), "owner")
    for address in ("/screens/day", "/screens/evening", "/screens/month", "/screens/setup/work"):
        assert owner.get(address).headers["Location"] == "/screens/setup"
    assert owner.get("/screens/evening.csv").status_code == 404
    page = owner.get("/screens/setup").text
    assert "Next: The yard" in page
    assert "Without a site, what no bed takes waits in the hold or stays on the lawn." in page
    assert "First say where the yard is." in send(owner, "vehicles", registration="A").text


def test_a_days_work_is_chosen_by_crew_and_is_planned(yard, office):
    client, ids = yard[1].client, yard[1].ids
    crew = client.get(f"/crews/{ids['crews']}")
    client.patch(
        f"/crews/{ids['crews']}",
        json={"vehicle_id": ids["vehicles"]},
        headers={"If-Match": crew.headers["ETag"]},
    )
    send(office, "lawns/sheet", text=LAWNS, keep="1")
    page = office.get("/screens/setup/work?day=2026-05-25").text
    key = re.search(r'name="key" value="([^"]+)"', page)[1]
    fields = dict.fromkeys(re.findall(r'name="(crew-[-0-9a-f]+)"', page), ids["crews"])
    assert len(fields) == 3
    day = {
        "key": key,
        "depot": ids["depots"],
        "day": "2026-05-25",
        "minutes": "20",
        "height": "30",
        "history": "none_recorded",
    }
    assert "Choose at least one lawn" in send(office, "work", **day).text
    # A crew whose vehicle was taken since the page was shown: nothing is kept of the rest either.
    idle = client.post("/crews", json={"depot_id": ids["depots"], "name": "Walkers"}).json["id"]
    some = {**fields, **dict.fromkeys(list(fields)[1:], idle)}
    refused = send(office, "work", **day, **some)
    assert refused.status_code == 422
    assert refused.text.count(", Walkers: ") == 2  # every lawn that cannot be kept is told
    # What was chosen and typed is still there, but for the crew that can have no lawn any more.
    assert 'value="20"' in refused.text
    assert 'value="30"' in refused.text
    assert f'<option value="{ids["crews"]}" selected>' in refused.text
    assert client.get("/jobs?state=planned").json["items"] == []
    day["height"] = "1½ in"
    assert send(office, "work", **day, **fields).status_code == 422
    day["height"] = "1.5 in"
    answer = send(office, "work", **day, **fields)
    assert answer.status_code == 303, answer.text
    assert answer.headers["Location"].endswith("day=2026-05-25")
    jobs = client.get("/jobs?state=planned").json["items"]
    assert sorted(job["planned_at"][11:16] for job in jobs) == ["06:00", "06:20", "06:40"]
    assert jobs[0]["height_removed"] == {"value": 1.5, "unit": "[in_i]"}
    told = office.get("/screens/setup/work?day=2026-05-25").text
    assert "planned already" in told
    # Nothing is left to choose, and nothing is offered to be kept.
    assert "Every lawn is planned for that day." in told
    assert "Keep it and plan the day" not in told
    assert len(client.get("/day-plans").json["items"]) == 1
    # Clicked twice, or sent again, it is the same work; another choice needs a form of its own.
    again = send(office, "work", **day, **fields)
    assert (again.status_code, again.headers["Location"]) == (303, answer.headers["Location"])
    other = send(office, "work", **day, **dict(list(fields.items())[:1]))
    assert "was kept already" in other.text
    assert len(client.get("/jobs?state=planned").json["items"]) == 3


def test_many_lawns_are_one_choice_and_each_can_be_said_otherwise(yard, office):
    client, ids = yard[1].client, yard[1].ids
    send(office, "lawns/sheet", text=LAWNS, keep="1")
    crew = client.get(f"/crews/{ids['crews']}")
    wanted = {"If-Match": crew.headers["ETag"]}
    client.patch(f"/crews/{ids['crews']}", json={"vehicle_id": ids["vehicles"]}, headers=wanted)
    page = office.get("/screens/setup/work?day=2026-05-25").text
    (group,) = re.findall(r'<select name="(all-\d+)"', page)
    lawns = re.findall(r'name="(crew-[-0-9a-f]+)"[^>]*><option value="all-', page)
    assert len(lawns) >= 2
    day = {
        "key": re.search(r'name="key" value="([^"]+)"', page)[1],
        "depot": ids["depots"],
        "day": "2026-05-25",
        "minutes": "20",
        "height": "30",
        "history": "none_recorded",
    }
    said = dict.fromkeys(lawns, group) | {lawns[0]: "none"}
    assert "Choose at least one lawn" in send(office, "work", **day, **said, **{group: ""}).text
    answer = send(office, "work", **day, **said, **{group: ids["crews"]})
    assert answer.status_code == 303, answer.text
    jobs = client.get("/jobs?state=planned").json["items"]
    assert {f"crew-{job['lawn_id']}" for job in jobs} == set(lawns[1:])


def test_a_list_says_numbers_with_their_units_and_languages_by_their_own_names(office):
    send(office, "vehicles", registration="ZZ1", payload_kg="1900", body_volume_m3="6.5")
    assert "ZZ1, 1,900 kg, 6.5 m³" in office.get("/screens/setup/vehicles").text
    send(office, "crews", name="Wren", vehicle="ZZ1", language="pl")
    assert "Wren, ZZ1, Polski" in office.get("/screens/setup/crews").text
    # A sheet may name it either way.
    answer = send(office, "crews/sheet", text="name,language\nLark,Español\nGull,fr\n", keep="1")
    assert answer.status_code == 303, answer.text
    sheet = office.get("/screens/setup/crews.csv").text
    assert "Français" in sheet
    assert re.search(r"<dt>Fee</dt><dd>GBP \d+\.\d\d</dd>", office.get("/screens/setup/sites").text)


def test_a_sheet_is_read_in_the_units_that_stand_in_its_cells(yard, office):
    sheet = "registration;payload_kg;body_volume_m3\nQQ26 LBS;1500 lb;4 cu yd\nQQ26 KGS;680;3,06\n"
    assert send(office, "vehicles/sheet", text=sheet, keep="1").status_code == 303
    kept = {one["registration"]: one for one in yard[1].client.get("/vehicles").json["items"]}
    # 0.453 592 37 kg and 0.764 554 857 984 m3 exactly: NIST SP 811 (2008), appendix B.8.
    assert kept["QQ26 LBS"]["payload_kg"] == pytest.approx(680.388555)
    assert kept["QQ26 LBS"]["body_volume_m3"] == pytest.approx(3.058219431936)
    assert kept["QQ26 KGS"]["payload_kg"] == 680


def test_a_ton_in_a_sheet_is_asked_about_with_the_units_that_may_stand_there(office):
    sheet = "registration;payload_kg;body_volume_m3\nQQ26 TON;2 tons;4\n"
    answer = send(office, "vehicles/sheet", text=sheet)
    assert answer.status_code == 422
    assert "Write the number alone, or with kg, g, t, lb, short ton, long ton." in answer.text
