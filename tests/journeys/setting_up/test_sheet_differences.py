"""A sheet of what is on record changes nothing of it, and tells every word that is another."""

import csv
import io
import re
from html import unescape

from tests.journeys.setting_up.forms import read, send


def sheet_of(*rows):
    told = io.StringIO()
    table = csv.DictWriter(told, list(dict.fromkeys(name for row in rows for name in row)))
    table.writeheader()
    table.writerows(rows)
    return told.getvalue()


def told(page):
    """Return every difference that a page names: row, of what, on record, in the sheet."""
    rows = re.findall(r'<tr><td class="number">(\d+)</td>(.*?)</tr>', unescape(page.text))
    return [
        (int(row), *[re.sub("<.*?>", "", cell) for cell in re.findall("<td>(.*?)</td>", rest)[1:4]])
        for row, rest in rows
    ]


def test_a_sheet_that_says_otherwise_of_a_bed_on_record_is_told_word_by_word(yard, office):
    client, bed_id = yard[1].client, yard[1].ids["beds"]
    before = client.get(f"/beds/{bed_id}").json
    (row,) = read(office, "beds")
    text = sheet_of(
        {**row, "consent": "withdrawn", "animals": "horses", "drainage": "poor", "area": "31"}
    )
    tried = send(office, "beds/sheet", text=text)
    found = told(tried)
    assert [one[1] for one in found] == [
        "The client agreed",
        "Animals that reach it",
        "Drainage",
        "Area",
    ]
    assert found[0] == (2, "The client agreed", "agreed", "withdrawn")
    assert found[1] == (2, "Animals that reach it", "dogs or cats", "horses")
    assert found[3][3] == "31 m²"
    assert f"/screens/setup/beds/records/{bed_id}" in tried.text
    assert "the record stands" in tried.text
    assert client.get(f"/beds/{bed_id}").json == before


def test_what_a_sheet_says_otherwise_is_told_again_after_the_rest_of_it_is_kept(yard, office):
    (row,) = read(office, "vehicles")
    text = sheet_of(
        {**row, "payload_kg": "400"},
        {"registration": "NEW1", "payload_kg": "800", "body_volume_m3": "4"},
    )
    kept = send(office, "vehicles/sheet", text=text, keep="1")
    assert kept.status_code == 200
    assert told(kept) == [(2, "Payload", f"{float(row['payload_kg']):,g} kg", "400 kg")]
    assert "1 of 2 rows was kept" in kept.text
    assert "NEW1" in {one["registration"] for one in yard[1].client.get("/vehicles").json["items"]}
    assert 'name="keep"' not in kept.text


def test_every_book_sent_back_as_it_stands_says_nothing_otherwise(office):
    for book in ("yard", "vehicles", "crews", "sites", "bays", "lawns", "beds"):
        tried = send(office, f"{book}/sheet", text=office.get(f"/screens/setup/{book}.csv").text)
        assert "on record already" in tried.text, book
        assert not told(tried), (book, tried.text)


def test_the_same_word_written_otherwise_and_an_empty_cell_are_no_other_words(office):
    (row,) = read(office, "beds")
    area_m2 = float(row["area"])
    same = {
        "client": row["client"].upper(),
        "address": row["address"],
        "bed": row["bed"].upper(),
        "area": f"{area_m2:.2f}",
        "area_unit": "",
        "consent": "AGREED",
        "drainage": "",
    }
    assert not told(send(office, "beds/sheet", text=sheet_of(same)))
    feet = {**same, "area": f"{area_m2 / 0.09290304:.2f}", "area_unit": "ft²"}
    assert not told(send(office, "beds/sheet", text=sheet_of(feet)))
    other = {**same, "area_unit": "acres"}
    assert [one[1] for one in told(send(office, "beds/sheet", text=sheet_of(other)))] == ["Area"]


def test_an_hour_s_cost_that_was_rounded_to_cents_a_minute_is_not_another(office):
    text = office.get("/screens/setup/yard.csv").text
    (row,) = csv.DictReader(io.StringIO(text.lstrip("\ufeff")))
    new = {**row, "name": "West yard", "crew_hour": "47"}
    send(office, "yard/sheet", text=sheet_of(new), keep="1")
    assert not told(send(office, "yard/sheet", text=sheet_of(new)))
    other = {**new, "crew_hour": "52"}
    assert [one[1] for one in told(send(office, "yard/sheet", text=sheet_of(other)))] == [
        "A crew's hour"
    ]


def test_no_animals_at_a_bed_are_no_other_word_where_nobody_has_looked_beside_it(office):
    (row,) = read(office, "beds")
    text = sheet_of({**row, "bed": "Border", "animals": "none", "animals_beside": ""})
    assert send(office, "beds/sheet", text=text, keep="1").status_code == 303
    assert not told(send(office, "beds/sheet", text=text))
    other = sheet_of({**row, "bed": "Border", "animals": "none", "animals_beside": "horses"})
    assert told(send(office, "beds/sheet", text=other)) == [
        (2, "Animals on the ground beside it", "nothing", "horses")
    ]
