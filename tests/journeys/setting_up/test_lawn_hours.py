"""The hours of a lawn, filled in where lawns are: in the form, and in a sheet."""

from tests.journeys.setting_up.forms import Editing, send

SHEET = (
    "client,address,locality,latitude,longitude,lawn,area,days,opens,closes\n"
    "Ann Lee,1 Elm Street,Oxford,51.754,-1.25,Front,240,mon; tue,09:00,18:00\n"
    "Ann Lee,1 Elm Street,Oxford,51.754,-1.25,Back,90,,,\n"
)


def test_not_before_nine_is_said_in_a_form_and_taken_back(yard, office):
    lawn = Editing(yard, office, "lawns", "lawns")
    assert lawn.send(lawn.fields(), opens="09:00", closes="18:00").status_code == 303
    spans = {(one["opens"], one["last_load"]) for one in lawn.kept["mowing_hours"]}
    assert (len(lawn.kept["mowing_hours"]), spans) == (7, {("09:00", "18:00")})
    assert lawn.fields()["opens"] == "09:00"
    half = lawn.send(lawn.fields(), closes="")
    assert (half.status_code, "Say from when and until when." in half.text) == (422, True)
    assert lawn.send(lawn.fields(), opens="", closes="", days="").status_code == 303
    assert lawn.kept["mowing_hours"] == []


def test_hours_that_a_form_cannot_show_are_not_lost_by_another_change(yard, office):
    lawn = Editing(yard, office, "lawns", "lawns")
    hours = [
        {"weekday": 0, "opens": "07:00", "closes": "12:00", "last_load": "11:00"},
        {"weekday": 1, "opens": "09:00", "closes": "12:00", "last_load": "12:00"},
    ]
    change = {"mowing_hours": hours}
    answer = yard[1].client.patch(lawn.path, json=change, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text
    assert lawn.send(lawn.fields(), area="77").status_code == 303
    assert lawn.kept["mowing_hours"] == hours


def test_a_sheet_says_hours_as_the_form_does(yard, office):
    answer = send(office, "lawns/sheet", text=SHEET, keep="1")
    assert answer.status_code == 303, answer.text
    lawns = {one["name"]: one for one in yard[1].client.get("/lawns").json["items"]}
    assert [one["weekday"] for one in lawns["Front"]["mowing_hours"]] == [0, 1]
    assert lawns["Back"]["mowing_hours"] == []
