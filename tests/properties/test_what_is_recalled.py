"""Random days over HTTP: what a recall freezes is what can have the recalled grass in it.

No more and no less, by the hours on record, in whatever order they are told.
"""

from __future__ import annotations

import random
from collections import defaultdict

import pytest

from service.api.books import clients
from tests.crews import Crew, another_crew
from tests.effort import tried

STEPS = 16
WHY = {"Change-Reason": "It happened."}


class Walk(Crew):
    """A firm with two vehicles and four beds, at which anything may happen next.

    ``events`` is what happened, in turn; what is told late is told when the day is over.
    """

    def __init__(self, seed: int, *, late: float) -> None:
        super().__init__(bay=True)
        self.chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
        self.late = late
        own = {name: self.ids[f"{name[:-3]}s"] for name in ("crew_id", "vehicle_id")}
        self.crews = [own, another_crew(self)]
        bed = self.client.get(f"/beds/{self.ids['beds']}").json
        fresh = {name: bed[name] for name in clients.BEDS.example if name in bed}
        more = (self.post("/beds", {**fresh, "name": f"Bed {number}"})["id"] for number in "234")
        self.beds = [self.ids["beds"], *more]
        self.events: list[tuple] = []
        self.untold: list = []
        self.aboard: dict[str, dict[str, float]] = defaultdict(dict)
        self.count = 0
        self.loads: dict[int, str] = {}

    def step(self) -> None:
        self.world.clock.move(minutes=5)
        crew = self.chance.choice(self.crews)
        lots = self.aboard[crew["vehicle_id"]]
        if not lots or self.chance.random() < 0.35:
            self.mow(crew)
        elif self.chance.random() < 0.25:
            self.give(crew)
        else:
            self.tip(crew)

    def mow(self, crew: dict) -> None:
        self.count += 1
        lot = f"01900000-0000-7000-9300-{self.count:012}"
        lawn = self.lawn(f"Lawn {self.count}")
        cut = {"cut_at": self.now(), "area_mowed": {"value": 20, "unit": "m2"}, "lawn_id": lawn}
        self.tell("/jobs", self.yard.job(id=lot, **cut, **crew), is_late=True)
        self.aboard[crew["vehicle_id"]][lot] = 1.0
        self.events.append(("mow", crew["vehicle_id"], lot))

    def tip(self, crew: dict) -> None:
        lots = self.aboard[crew["vehicle_id"]]
        some = self.chance.sample(sorted(lots), self.chance.randint(1, len(lots)))
        some = [lot for lot in some if lot not in self.unknown()]
        if not some:
            return
        shares = {lot: self.chance.choice((1.0, 1.0, 0.5)) * lots[lot] for lot in some}
        bed = self.chance.choice(self.beds)
        body = {
            "vehicle_id": crew["vehicle_id"],
            "destination_kind": "bed",
            "destination_id": bed,
            "done_at": self.now(),
            "parts": [{"job_id": lot, "share": share} for lot, share in shares.items()],
        }
        number = len(self.events)
        self.tell("/loads", body, number, is_late=True)
        for lot, share in shares.items():
            lots[lot] -= share
            if lots[lot] < 1e-6:
                del lots[lot]
        self.events.append(("tip", crew["vehicle_id"], tuple(shares.items()), bed, number))

    def give(self, crew: dict) -> None:
        (other,) = [one["vehicle_id"] for one in self.crews if one != crew]
        lots = self.aboard[crew["vehicle_id"]]
        lot = self.chance.choice(sorted(lots))
        if self.untold or lots[lot] < 1.0:
            return
        self.count += 1
        report = {
            "id": f"01900000-0000-7000-9400-{self.count:012}",
            "kind": "given",
            "at": self.now(),
            "to_vehicle_id": other,
            "parts": [{"job_id": lot}],
        }
        told = {"device": "tablet", "sent_at": self.now(), **crew, "reports": [report]}
        (row,) = self.client.post("/reports", json=told).json["reports"]
        assert row["status"] == 200, row
        self.aboard[other][lot] = lots.pop(lot)
        self.events.append(("give", crew["vehicle_id"], lot, other))

    def unknown(self) -> set[str]:
        return {body["id"] for path, body, _ in self.untold if path == "/jobs"}

    def tell(self, path: str, body: dict, number: int = 0, *, is_late: bool = False) -> None:
        if is_late and self.chance.random() < self.late:
            self.untold.append((path, body, number))
            return
        answer = self.client.post(path, json=body, headers=WHY if path == "/loads" else {})
        assert answer.status_code == 201, answer.text
        if path == "/loads":
            self.loads[number] = answer.json["id"]

    def tell_the_rest(self) -> None:
        untold, self.untold, self.late = self.untold, [], 0.0
        self.chance.shuffle(untold)
        for path, body, number in untold:
            self.tell(path, body, number)

    def now(self) -> str:
        return self.world.clock.now().isoformat()

    def recall(self, lot: str) -> str:
        code = self.client.get(f"/jobs/{lot}").json["lot_code"]
        return self.post("/recalls", {"lot_code": code, "reason": "Clopyralid was found."})["id"]

    def mixed(self, recalled: str) -> tuple[set[str], set[str]]:
        """Return the beds and loads that have any of a lot in them, as it happened."""
        bodies: dict[str, dict[str, float]] = defaultdict(dict)
        tainted, beds, loads = {recalled}, set(), set()
        for kind, vehicle, what, *where in self.events:
            body = bodies[vehicle]
            if kind == "mow":
                body[what] = 1.0
            elif kind == "give":
                bodies[where[0]][what] = body.pop(what)
            else:
                bed, number = where
                if tainted & {lot for lot, _ in what}:
                    beds.add(bed)
                    loads.add(self.loads[number])
                for lot, share in what:
                    body[lot] -= share
                    if body[lot] < 1e-6:
                        del body[lot]
            for lots in bodies.values():
                if tainted & lots.keys():
                    tainted |= lots.keys()
        return beds, loads


@pytest.mark.parametrize("seed", tried(range(60), 10))
@pytest.mark.parametrize("late", [0.0, 0.3])
def test_a_recall_freezes_what_can_have_the_recalled_lot_in_it(seed, late):
    walk = Walk(seed, late=late)
    for _ in range(STEPS):
        walk.step()
    walk.tell_the_rest()
    lots = [event[2] for event in walk.events if event[0] == "mow"]
    for lot in walk.chance.sample(lots, min(3, len(lots))):
        begun = walk.client.get(f"/recalls/{walk.recall(lot)}").json
        beds, loads = walk.mixed(lot)
        told = {
            load["load_id"]
            for place in begun["trace"]["places"]
            if place["kind"] == "bed"
            for load in place["loads"]
        }
        assert (set(begun["frozen"]["bed_ids"]), told) == (beds, loads), (walk.events, lot)


@pytest.mark.parametrize("seed", tried(range(60), 10))
def test_an_open_recall_follows_what_can_have_the_recalled_lot_in_it(seed):
    walk = Walk(seed, late=0.0)
    for _ in range(STEPS // 2):
        walk.step()
    lots = [event[2] for event in walk.events if event[0] == "mow"]
    lot = walk.chance.choice(lots)
    recall_id = walk.recall(lot)
    for _ in range(STEPS // 2):
        walk.step()
    read = walk.client.get(f"/recalls/{recall_id}").json
    beds, _ = walk.mixed(lot)
    assert set(read["frozen"]["bed_ids"]) == beds, (walk.events, lot)
    called_for = {place for person in read["people"] for place in person["place_ids"]}
    assert called_for == beds


@pytest.mark.parametrize("seed", tried(range(60), 10))
@pytest.mark.parametrize("late", [0.0, 0.3])
def test_what_is_learned_of_a_lot_counts_for_every_load_that_can_have_it_in_it(seed, late):
    walk = Walk(seed, late=late)
    for _ in range(STEPS):
        walk.step()
    walk.tell_the_rest()
    lot = walk.chance.choice([event[2] for event in walk.events if event[0] == "mow"])
    walk.treated(walk.client.get(f"/jobs/{lot}").json["lawn_id"])
    _, loads = walk.mixed(lot)
    statuses = {one: walk.client.get(f"/loads/{one}").json["status"] for one in walk.loads.values()}
    not_clean = {one for one, status in statuses.items() if status != "clean"}
    assert not_clean == loads, (walk.events, lot)
