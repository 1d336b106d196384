"""Which animals stand at a bed and beside it: what nobody has said is not known, and not none."""

import pytest

from tests.journeys.setting_up.forms import Editing, read, send

COLUMNS = "client,address,bed,area,animals,animals_beside"


@pytest.fixture
def border(yard, office):
    """Return what a sheet's bed with these two cells is on record as, and in its list."""
    (row,) = read(office, "beds")

    def kept(animals, beside):
        text = f'{COLUMNS}\n{row["client"]},"{row["address"]}",Border,30,{animals},{beside}\n'
        answer = send(office, "beds/sheet", text=text, keep="1")
        if answer.status_code != 303:
            return answer.text
        (bed,) = [
            one for one in yard[1].client.get("/beds").json["items"] if one["name"] == "Border"
        ]
        (told,) = [one for one in read(office, "beds") if one["bed"] == "Border"]
        return bed["animals"], bed["animals_beside"], told["animals"], told["animals_beside"]

    return kept


@pytest.mark.parametrize(
    ("cells", "kept"),
    [
        (("", ""), ([], None, "", "")),
        (("none", ""), ([], None, "", "")),
        (("none", "none"), ([], [], "none", "none")),
        (("dogs or cats", "horses"), (["dogs_or_cats"], ["horses"], "dogs or cats", "horses")),
        (("none", "horses"), ([], ["horses"], "none", "horses")),
    ],
)
def test_a_cell_left_empty_stays_not_known_and_none_is_said(border, cells, kept):
    assert border(*cells) == kept


def test_who_looked_beside_a_bed_says_what_is_at_it_too(border):
    assert "who looked beside the bed saw that, too" in border("", "none")
    assert "Write none, or which: not both." in border("none; horses", "none")


def test_a_firm_reads_how_many_of_its_beds_nobody_has_looked_about_at(yard, office):
    client, bed = yard[1].client, f"/beds/{yard[1].ids['beds']}"
    told = "1 does not say whether animals stand at or beside it"
    assert told in office.get("/screens/setup").text
    etag = client.get(bed).headers["ETag"]
    answer = client.patch(
        bed,
        json={"animals_beside": []},
        headers={"If-Match": etag, "Content-Type": "application/merge-patch+json"},
    )
    assert answer.status_code == 200
    assert told not in office.get("/screens/setup").text


def test_a_form_says_none_and_takes_it_back(yard, office):
    bed = Editing(yard, office, "beds", "beds")
    fields = bed.fields()
    fields.setlist("animals_beside", ["none"])
    assert bed.send(fields).status_code == 303
    assert bed.kept["animals_beside"] == []
    assert bed.kept["animals"] == ["dogs_or_cats"]
    fields = bed.fields()
    assert fields.getlist("animals_beside") == ["none"]
    fields.poplist("animals_beside")
    assert bed.send(fields).status_code == 303
    assert bed.kept["animals_beside"] is None


def test_a_firm_reads_how_many_of_its_beds_nobody_has_said_how_they_drain(yard, office):
    client, bed = yard[1].client, f"/beds/{yard[1].ids['beds']}"
    told = "1 takes nothing: how it drains is not on record"
    assert told not in office.get("/screens/setup").text
    headers = {"If-Match": "*", "Content-Type": "application/merge-patch+json"}
    assert client.patch(bed, json={"drainage": "unknown"}, headers=headers).status_code == 200
    assert told in office.get("/screens/setup").text
