"""A client's hours at a bed, filled in where beds are: in the form, and in a sheet."""

import pytest

from tests.journeys.setting_up.forms import LAWNS, Editing, send

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat")
SHEET = "client,address,bed,area,days,opens,closes,opens_again,closes_again,closed_on\n"


@pytest.fixture
def bed(yard, office):
    return Editing(yard, office, "beds", "beds")


def said(bed):
    spans = {(one["opens"], one["closes"]) for one in bed.kept["hours"]}
    return sorted({one["weekday"] for one in bed.kept["hours"]}), sorted(spans)


def with_days(fields, *days):
    fields.setlist("days", list(days))
    return fields


def test_only_between_eight_and_twelve_is_on_every_day(bed):
    assert bed.send(bed.fields(), opens="08:00", closes="12:00").status_code == 303
    assert said(bed) == ([0, 1, 2, 3, 4, 5, 6], [("08:00", "12:00")])
    assert bed.fields()["closes"] == "12:00"
    assert bed.send(bed.fields(), opens="", closes="", days="").status_code == 303
    assert bed.kept["hours"] == []


def test_never_on_sundays_is_the_whole_of_the_other_days(bed):
    assert bed.send(with_days(bed.fields(), *WEEKDAYS)).status_code == 303
    assert said(bed) == ([0, 1, 2, 3, 4, 5], [("00:00", "23:59")])
    fields = bed.fields()
    assert (fields.getlist("days"), fields["opens"]) == (list(WEEKDAYS), "")


def test_two_spans_a_day_and_days_of_the_year(bed):
    two = {"opens": "08:00", "closes": "12:00", "opens_again": "14:00", "closes_again": "17:00"}
    answer = bed.send(
        with_days(bed.fields(), "mon"), **two, closed_on="2026-12-31; 2026-12-24", reason="rang"
    )
    assert answer.status_code == 303, answer.text
    assert said(bed) == ([0], [("08:00", "12:00"), ("14:00", "17:00")])
    assert bed.kept["closed_on"] == ["2026-12-24", "2026-12-31"]
    assert bed.fields()["closed_on"] == "2026-12-24; 2026-12-31"
    assert bed.send(bed.fields(), closed_on="").status_code == 303
    assert (bed.kept["closed_on"], len(bed.kept["hours"])) == ([], 2)


def test_half_a_span_is_named_and_nothing_is_kept(bed):
    for half, words in (
        ({"opens": "08:00"}, "Say from when and until when."),
        ({"opens": "08:00", "closes": "08:00"}, "It ends when it begins"),
        ({"opens_again": "08:00", "closes_again": "09:00"}, "first hours before the second"),
        ({"closed_on": "24 December"}, "Write a day such as"),
    ):
        told = bed.send(bed.fields(), **half)
        assert (told.status_code, words in told.text) == (422, True), told.text
    assert bed.kept["version"] == 1


def test_hours_that_a_form_cannot_show_are_not_lost_by_a_tick(yard, bed):
    hours = [
        {"weekday": 0, "opens": "07:00", "closes": "12:00", "last_load": "12:00"},
        {"weekday": 1, "opens": "09:00", "closes": "12:00", "last_load": "12:00"},
    ]
    change = {"hours": hours}
    answer = yard[1].client.patch(bed.path, json=change, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text
    assert bed.send(with_days(bed.fields(), "mon")).status_code == 422
    assert bed.send(bed.fields(), slope_percent="3").status_code == 303
    assert bed.kept["hours"] == hours


def test_a_sheet_says_hours_as_the_form_does(yard, office):
    send(office, "lawns/sheet", text=LAWNS, keep="1")
    row = "Ann Lee,1 Elm Street,{},30,{},08:00,{},,,2026-12-24\n"
    wrong = send(office, "beds/sheet", text=SHEET + row.format("Border", "mon; tue", ""), keep="1")
    assert "Say from when and until when." in wrong.text
    text = SHEET + row.format("Border", "mon; tue", "12:00") + row.format("Hedge", "", "06:00")
    kept = send(office, "beds/sheet", text=text, keep="1")
    assert kept.status_code == 303, kept.text
    beds = {one["name"]: one for one in yard[1].client.get("/beds").json["items"]}
    assert [one["weekday"] for one in beds["Border"]["hours"]] == [0, 1]
    assert beds["Border"]["closed_on"] == ["2026-12-24"]
    assert len(beds["Hedge"]["hours"]) == 7
