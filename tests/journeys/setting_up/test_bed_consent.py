"""How much a client takes a visit is filled in where beds are, beside until when."""

from tests.journeys.setting_up.forms import LAWNS, Editing, send

SHEET = "client,address,bed,area,consent,consent_until,visit_max_kg,visit_min_kg\n"


def test_a_standing_yes_has_its_end_and_its_most_in_the_form(yard, office):
    bed = Editing(yard, office, "beds", "beds")
    said = {"consent": "agreed", "consent_until": "2026-09-30", "visit_max_kg": "200"}
    said["month_max_kg"] = "300"
    assert bed.send(bed.fields(), **said).status_code == 303
    kept = bed.kept["consent"]
    assert (kept["expires_on"], kept["mass_per_visit_max_kg"]) == ("2026-09-30", 200)
    assert kept["mass_per_month_max_kg"] == 300
    assert float(bed.fields()["visit_max_kg"]) == 200
    assert float(bed.fields()["month_max_kg"]) == 300
    told = bed.send(bed.fields(), visit_min_kg="300")
    assert (told.status_code, "no more than the most, 200 kg" in told.text) == (422, True)
    assert 'href="#visit_min_kg"' in told.text
    told = bed.send(bed.fields(), consent_on="2026-10-01")
    assert (told.status_code, 'href="#consent_until"' in told.text) == (422, True)
    assert bed.send(bed.fields(), consent="withdrawn", visit_max_kg="").status_code == 303
    kept = bed.kept["consent"]
    assert (kept["state"], kept["mass_per_visit_max_kg"]) == ("withdrawn", None)


def test_a_sheet_says_it_too(yard, office):
    send(office, "lawns/sheet", text=LAWNS, keep="1")
    text = SHEET + "Ann Lee,1 Elm Street,Border,30,agreed,2026-09-30,200,20\n"
    assert send(office, "beds/sheet", text=text, keep="1").status_code == 303
    (bed,) = [one for one in yard[1].client.get("/beds").json["items"] if one["name"] == "Border"]
    said = bed["consent"]
    assert (said["mass_per_visit_max_kg"], said["mass_per_visit_min_kg"]) == (200, 20)


def test_a_sheet_whose_consent_ends_before_it_begins_is_told_so_in_its_cell(yard, office):
    send(office, "lawns/sheet", text=LAWNS, keep="1")
    columns = "client,address,bed,area,consent,consent_on,consent_until\n"
    row = "Ann Lee,1 Elm Street,Border,30,agreed,2027-01-01,2026-01-01\n"
    told = send(office, "beds/sheet", text=columns + row, keep="1")
    assert "Not before the day it was given, 1 January 2027." in told.text
    assert "1 cell cannot stay as it is" in told.text
    assert "Border" not in [one["name"] for one in yard[1].client.get("/beds").json["items"]]
