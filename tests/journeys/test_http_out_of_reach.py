"""A site a continent away is told alike by verdict, plan and choice: nobody drives there."""

import pytest

from tests.holds import Yard

# Halifax, Nova Scotia; the yard lies at Oxford, some 4,700 km away.
FAR = {"type": "Point", "coordinates": [-63.57, 44.65]}


@pytest.fixture
def yard():
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.patch(yard.site, {"point": FAR})
    hours = {"opens": "06:00", "closes": "22:00", "last_load": "21:30"}
    days = [{"weekday": day, **hours} for day in range(7)]
    yard.patch(yard.site, {"hours": days, "closed_on": []})
    yard.job = yard.mow(yard.lawn("Front"), at="11:00")
    return yard


def said(yard):
    verdicts = yard.client.get(f"/jobs/{yard.job}/verdicts").json["verdicts"]
    return next(one for one in verdicts if one["destination_kind"] == "compost_site")


def test_a_site_a_continent_away_takes_nothing_of_a_yard_whatever_its_gate_says(yard):
    verdict = said(yard)
    assert (verdict["refused"], verdict["code"]) == (True, "out_of_reach")
    assert verdict["facts"]["away_km"] == pytest.approx(4700, rel=0.05)
    yard.client.delete(f"/hold-bays/{yard.ids['hold-bays']}", headers={"If-Match": "*"})
    assert "out_of_reach" in str(yard.routing()["routing"])
    choice = {"job_id": yard.job, "destination_id": yard.ids["compost-sites"]}
    refused = yard.client.post("/place-choices", json=choice, headers={"Change-Reason": "Mine."})
    assert (refused.status_code, refused.json["code"]) == (409, "place_refused")


def test_a_site_an_hour_away_is_asked_as_ever(yard):
    yard.patch(yard.site, {"point": {"type": "Point", "coordinates": [-1.0, 51.5]}})
    assert said(yard)["refused"] is False
