import pytest

from tests.worlds import furnish


@pytest.fixture
def yard(world):
    """Return a firm without beds and bay: its clippings go to the site."""
    yard = furnish(world, without=frozenset({"beds", "hold-bays"}))
    sundays = {"weekday": 6, "opens": "08:00", "closes": "17:00", "last_load": "16:30"}
    site = f"/compost-sites/{yard.ids['compost-sites']}"
    opened = yard.client.patch(site, json={"hours": [sundays]}, headers={"If-Match": "*"})
    assert opened.status_code == 200, opened.text
    job = yard.job(area_mowed={"value": 60, "unit": "m2"})
    assert yard.client.post("/jobs", json=job).status_code == 201
    plan = {"depot_id": yard.ids["depots"], "day": "2026-05-24"}
    assert yard.client.post("/day-plans", json=plan).status_code == 201
    return yard
