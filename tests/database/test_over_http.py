"""Books and jobs over HTTP read the same whatever keeps them."""

from tests.worlds import furnish, make_world


def told(world):
    """Keep books, mow, amend, and return all that can be read of it afterwards."""
    yard = furnish(world)
    client, ids = yard.client, dict(yard.ids)
    small = yard.job(area_mowed={"value": 60, "unit": "m2"})
    ids["jobs"] = client.post("/jobs", json=small).json["id"]
    lawn = client.get(f"/lawns/{ids['lawns']}")
    amended = client.patch(
        f"/lawns/{ids['lawns']}",
        json={"area": {"value": 0.1, "unit": "[acr_us]"}},
        headers={"If-Match": lawn.headers["ETag"], "Content-Type": "application/merge-patch+json"},
    )
    assert amended.status_code == 200, amended.text
    paths = [f"/{path}" for path in ids] + [f"/{path}/{found}" for path, found in ids.items()]
    return {path: client.get(path).json for path in (*paths, f"/lawns/{ids['lawns']}/history")}


def test_what_a_database_keeps_reads_like_what_memory_keeps(open_unit, open_reading):
    kept = told(make_world(open_unit, open_reading))
    assert kept == told(make_world())
    assert all(answer.get("items", True) for answer in kept.values())
