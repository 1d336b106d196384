"""Books and jobs over HTTP read the same whatever keeps them."""

import pytest

from tests.screens import joined
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


def test_a_posted_job_reads_each_record_once(open_unit, open_reading, statements):
    yard = furnish(make_world(open_unit, open_reading))
    planned = yard.job(state="planned", cut_at=None, planned_at="2026-05-26T10:40:00+01:00")
    yard.client.post("/jobs", json=planned)
    statements.clear()
    later = planned | {"planned_at": "2026-05-26T14:40:00+01:00"}
    answer = yard.client.post("/jobs", json=later)
    assert answer.status_code == 201, answer.text
    said = [one.split() for one in statements if one.startswith("SELECT")]
    read = [words[words.index("FROM") + 1] for words in said]
    assert len(read) == len(set(read)), " ".join(read)
    assert sum("working_days" in one for one in statements) == 1


@pytest.mark.parametrize(
    ("seat", "path"),
    [
        ("dispatcher", "/screens/day"),
        ("dispatcher", "/screens/day/mark?depot={depots}&day=2026-05-24"),
        ("crew", "/screens/round/"),
        ("crew", "/screens/round/mark"),
        ("site", "/screens/gate"),
    ],
)
def test_who_looks_at_a_screen_takes_no_writers_turn(open_unit, open_reading, seat, path):
    taken = []

    def writing():
        taken.append(path)
        return open_unit()

    world = make_world(writing, open_reading)
    yard = furnish(world)
    scope = {
        "crew": {"crew_id": yard.ids["crews"]},
        "site": {"compost_site_id": yard.ids["compost-sites"]},
    }
    device = joined(world, yard, seat, **scope.get(seat, {}))
    taken.clear()
    answer = device.get(path.format(**yard.ids), headers={"Accept": "text/html"})
    assert answer.status_code == 200, answer.text
    assert taken == []
