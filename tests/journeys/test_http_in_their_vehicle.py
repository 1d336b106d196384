"""Whoever's vehicle a lot lies in says what became of it, whoever mowed it and whoever planned it.

The crew that takes over has nothing of its own that day: no job of the day names its crew.
"""

from uuid import uuid4

import pytest

from service.core.callers.access import Role
from tests.crews import another_crew, drops
from tests.devices import CLEAN, Device
from tests.screens import joined

BY_LOAD = {
    "set_off": {},
    "tipped": {},
    "refused": {"reason": "The gate was locked."},
    "part_taken": {"reason": "The bed was full.", "refused_share": 0.5},
    "weighed": {"weighed_net": {"value": 30, "unit": "kg"}, "weigh_ticket": "W-1"},
}


class TakenOver(Device):
    """A lot that the first crew mowed and forked over into the vehicle of a second one."""

    def __init__(self):
        super().__init__()
        self.office, self.who = self.client, {}
        self.cut = self.kept(
            self.what("mown", "12:00", lawn_id=self.lawn("Front"), **CLEAN),
        )[0]["job_id"]
        self.read()
        self.second = another_crew(self)
        self.kept(self.what("given", "12:10", to_vehicle_id=self.second["vehicle_id"]))
        (self.drop, *_) = drops(self.read())
        with self.world.open_unit_of_work() as unit:
            self.firm_id = unit.firms.all()[0].id
        self.client = self.world.client(self.firm_id, Role.CREW, crew_id=self.second["crew_id"])
        self.who = self.second

    def send(self, *reports, **fields):
        return super().send(*reports, **{**self.who, **fields})

    def place(self):
        return {name: self.drop[name] for name in ("destination_kind", "destination_id")}

    def elsewhere(self):
        """Return the bay: no plan of the lot names it."""
        return {"destination_kind": "hold_bay", "destination_id": self.ids["hold-bays"]}

    def as_office(self, path):
        answer = self.office.get(path)
        assert answer.status_code == 200, answer.text
        return answer.json


@pytest.fixture
def taken():
    return TakenOver()


@pytest.mark.parametrize("kind", sorted(BY_LOAD.keys() - {"weighed"}))
def test_a_load_that_was_taken_over_is_reported_by_its_id(taken, kind):
    path = f"/vehicles/{taken.second['vehicle_id']}/today"
    load_id = taken.client.get(path).json["next_tip"]["load_id"]
    assert load_id == taken.drop["load_id"]
    (row,) = taken.kept(taken.what(kind, "12:30", load_id=load_id, **BY_LOAD[kind]))
    assert row["load_id"] == load_id
    states = {"set_off": "under_way", "tipped": "delivered", "part_taken": "partly_refused"}
    assert taken.as_office(f"/loads/{load_id}")["state"] == states.get(kind, kind)


@pytest.mark.parametrize("kind", ["tipped", "refused", "part_taken"])
def test_a_load_that_was_taken_over_is_reported_by_its_place(taken, kind):
    (row,) = taken.kept(taken.what(kind, "12:30", **taken.place(), **BY_LOAD[kind]))
    assert row["load_id"] == taken.drop["load_id"]


@pytest.mark.parametrize("kind", ["tipped", "part_taken"])
@pytest.mark.parametrize("named", [False, True])
def test_a_lot_that_was_taken_over_is_tipped_where_no_plan_sent_it(taken, kind, named):
    parts = {"parts": [{"job_id": taken.cut}]} if named else {}
    what = taken.what(kind, "12:30", **taken.elsewhere(), **BY_LOAD[kind], **parts)
    (row,) = taken.kept(what)
    load = taken.as_office(f"/loads/{row['load_id']}")
    assert (load["vehicle_id"], load["crew_id"]) == tuple(
        taken.second[name] for name in ("vehicle_id", "crew_id")
    )
    assert [part["job_id"] for part in load["parts"]] == [taken.cut]


def test_a_load_that_was_taken_over_is_weighed_and_what_was_said_of_it_is_taken_back(taken):
    load = {"load_id": taken.drop["load_id"]}
    tipped = taken.what("tipped", "12:30", **load)
    taken.kept(tipped, taken.what("weighed", "12:40", **load, **BY_LOAD["weighed"]))
    assert taken.as_office(f"/loads/{load['load_id']}")["weighed_net"]["value"] == 30
    taken.kept(taken.what("undo", "12:50", undoes=tipped["id"]))
    assert taken.as_office(f"/loads/{load['load_id']}")["state"] == "planned"


def test_a_load_that_was_taken_over_is_read_and_its_note_issued_by_who_has_it(taken):
    path = f"/loads/{taken.drop['load_id']}"
    assert taken.client.get(path).status_code == 200
    assert taken.client.get(f"/jobs/{taken.cut}").status_code == 200
    note = taken.client.post(f"{path}/delivery-notes", json={})
    assert note.status_code == 201, note.text
    assert taken.client.get(f"/delivery-notes/{note.json['id']}").status_code == 200


def test_what_was_taken_over_is_given_back_or_on_by_who_has_it(taken):
    taken.kept(taken.what("given", "12:30", to_vehicle_id=taken.ids["vehicles"]))
    assert taken.as_office(f"/jobs/{taken.cut}")["vehicle_id"] == taken.ids["vehicles"]


def test_a_tip_that_no_plan_foresaw_is_sent_by_its_own_door_too(taken):
    body = {**taken.elsewhere(), **taken.second, "done_at": taken.clock("12:30")}
    answer = taken.client.post("/loads", json={**body, "parts": [{"job_id": taken.cut}]})
    assert answer.status_code == 201, answer.text


@pytest.mark.parametrize("act", ["under_way", "delivered", "refused", "partly_refused"])
def test_who_took_a_load_over_says_on_the_round_what_became_of_it(taken, act):
    phone = joined(taken.world, taken.yard, "crew", crew_id=taken.second["crew_id"])
    load_id = taken.drop["load_id"]
    assert load_id in phone.get("/screens/round/").text
    form = {"key": str(uuid4()), "act": act, "load": load_id, "seen": "planned"}
    if act in {"refused", "partly_refused"}:
        form |= {"refusal_reason": "bed_full", "refused_percent": "50"}
    headers = {"Sec-Fetch-Site": "same-origin", "Accept": "application/json"}
    answer = phone.post("/screens/round/reports", data=form, headers=headers)
    assert answer.status_code == 200, answer.text
    assert taken.as_office(f"/loads/{load_id}")["state"] == act


def test_a_lot_in_the_vehicle_of_nobody_of_theirs_is_still_no_load_of_theirs(taken):
    third = {"depot_id": taken.ids["depots"], "name": "Third"}
    crew = taken.office.post("/crews", json=third).json["id"]
    stranger = taken.world.client(taken.firm_id, Role.CREW, crew_id=crew)
    assert stranger.get(f"/loads/{taken.drop['load_id']}").status_code == 404
    assert stranger.get(f"/jobs/{taken.cut}").status_code == 404


@pytest.mark.parametrize(
    ("amount", "name"),
    [({"share": 0.3}, "share"), ({"mass": {"value": 20, "unit": "kg"}}, "mass")],
)
def test_a_part_of_a_lot_is_not_forked_over_as_the_whole(taken, amount, name):
    parts = [{"job_id": taken.cut, **amount}]
    back = {"to_vehicle_id": taken.ids["vehicles"], "parts": parts}
    problem = taken.refused(taken.what("given", "12:30", **back))
    assert [one["pointer"] for one in problem["errors"]] == [f"/parts/0/{name}"]
    assert taken.as_office(f"/jobs/{taken.cut}")["vehicle_id"] == taken.second["vehicle_id"]


def test_all_of_what_is_left_of_a_lot_is_forked_over_by_its_share(taken):
    half = {"parts": [{"job_id": taken.cut, "share": 0.4}]}
    taken.kept(taken.what("tipped", "12:20", **taken.elsewhere(), **half))
    rest = {"parts": [{"job_id": taken.cut, "share": 0.6}]}
    taken.kept(taken.what("given", "12:30", to_vehicle_id=taken.ids["vehicles"], **rest))
    assert taken.as_office(f"/jobs/{taken.cut}")["vehicle_id"] == taken.ids["vehicles"]


def test_a_part_that_was_forked_over_is_told_by_its_tip(taken):
    """As the refusal of a part says: by who has the lot, with the vehicle that brought the part."""
    other = {"vehicle_id": taken.ids["vehicles"]}
    part = {"parts": [{"job_id": taken.cut, "share": 0.3}]}
    taken.kept(taken.what("tipped", "12:30", **taken.elsewhere(), **other, **part))
    balances = taken.as_office(f"/mass-balances?lot_id={taken.cut}")["balances"]
    (aboard,) = (one for one in balances if one["place_kind"] == "vehicle")
    assert aboard["place_id"] == taken.second["vehicle_id"]
    assert aboard["share"] == pytest.approx(0.7)


def test_a_report_that_names_a_lawn_as_its_place_is_told_what_else_is_wrong(taken):
    row = taken.what("given", "12:30", destination_kind="lawn", destination_id=taken.ids["lawns"])
    problem = taken.refused(row)
    assert [one["pointer"] for one in problem["errors"]] == ["/to_vehicle_id"]


def test_a_crew_lists_the_loads_in_its_vehicle_whoever_mowed_them(taken):
    listed = taken.client.get("/loads?state=planned").json["items"]
    assert [load["id"] for load in listed] == [taken.drop["load_id"]]
    assert taken.client.get(f"/loads?vehicle_id={taken.ids['vehicles']}").json["items"] == []
    crew, taken.client = taken.client, taken.office
    lawn, taken.client = taken.lawn("Own"), crew
    own = taken.what("mown", "12:20", lawn_id=lawn, **CLEAN)
    taken.kept(own)
    tips = [{**taken.place(), "parts": [{"job_id": one}]} for one in (own["id"], taken.cut)]
    taken.kept(*(taken.what("tipped", "12:4" + str(n), **tip) for n, tip in enumerate(tips)))
    every = taken.client.get("/loads").json["items"]
    ids = [load["id"] for load in every]
    assert {part["job_id"] for load in every for part in load["parts"]} == {own["id"], taken.cut}
    found, path = [], "/loads?limit=1"
    while path:
        page = taken.client.get(path).json
        found += [load["id"] for load in page["items"]]
        path = page["next"]
    assert found == ids == sorted(set(ids))
