"""A firm that lays grass in its bay and takes it out in parts, at which anything may happen."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

from tests.properties.walks import REFUSED, Walk


class Heaps(Walk):
    """A firm that lays clean grass in its bay, and takes it out in parts."""

    @property
    def steps(self) -> list[Callable[[], object]]:
        out_again = [self.release_part, self.release_part, self.release_part, self.release]
        aboard = [self.load_of_it, self.load_of_it, self.bring, self.report, self.end_the_day]
        rest = [self.undo, self.weigh, self.turn_away_some, self.correct]
        return [self.lay_in_bay, *out_again, *aboard, *rest]

    def load_of_it(self) -> None:
        """Let a telephone say that a heap was loaded, and now and then take that back."""
        held = self.items("/hold-entries?state=in_bay")
        if not held:
            return
        own = str(UUID(int=self.chance.getrandbits(128), version=4))
        at = self.now()
        reports = [{"id": own, "kind": "loaded", "at": at, **self.loading(held)}]
        if self.chance.random() < 0.2:
            undo = str(UUID(int=self.chance.getrandbits(128), version=4))
            reports.append({"id": undo, "kind": "undo", "at": at, "undoes": own})
        self.reported.append(own)
        body = {"device": "telephone", "sent_at": at, "reports": reports}
        answer = self.client.post("/reports", json=body)
        assert answer.status_code == 200, answer.text
        statuses = {row["status"] for row in answer.json["reports"]}
        assert statuses <= {200, *REFUSED, 404}, answer.text

    def lay_in_bay(self) -> None:
        lawn = self.lawn(f"H{len(self.done)}")
        fields = {"cut_at": self.now(), "area_mowed": {"value": 60, "unit": "m2"}}
        job = self.post("/jobs", self.yard.job(lawn_id=lawn, **fields))["id"]
        tip = {
            "vehicle_id": self.ids["vehicles"],
            "destination_kind": "hold_bay",
            "destination_id": self.ids["hold-bays"],
            "done_at": self.now(),
            "parts": [{"job_id": job}],
        }
        self.send("post", "/loads", tip)

    def release_part(self) -> None:
        entries = self.items("/hold-entries?state=in_bay")
        if entries:
            entry = self.chance.choice(entries)
            kg = entry["mass_kg"]["likely"] * self.chance.choice((0.2, 0.5, 0.9))
            body = {
                "released_to_kind": "bed",
                "released_to_id": self.ids["beds"],
                "released_with_id": self.ids["vehicles"],
                "mass": {"value": kg, "unit": "kg"},
            }
            self.send("post", f"/hold-entries/{entry['id']}/parts", body)

    def assert_bodies_are_planned_as_they_are(self) -> None:
        """A plan has in each body what the book has there, on its way as well."""
        answer = self.client.get(f"/days/{self.today()}/routing?depot_id={self.ids['depots']}")
        if answer.status_code == 404:
            return
        bodies = self.client.get("/mass-balances?place_kind=vehicle").json["balances"]
        kept = {one["place_id"]: one["mass_kg"]["high"] for one in bodies}
        told = {v["vehicle_id"]: v["aboard_now"] for v in answer.json["routing"]["vehicles"]}
        # Of each lot aboard whole kilograms are planned, rounded up.
        whole = len(self.items("/jobs")) + 1
        for vehicle, aboard in told.items():
            kg = kept.get(vehicle, 0.0)
            assert kg - 1 <= aboard["mass_high_kg"] <= kg + whole, (vehicle, kg)
        assert all(kg < 1 for one, kg in kept.items() if one not in told), kept

    def parts_out(self) -> int:
        loads = self.items("/loads?destination_kind=bed&state=delivered")
        return sum(load["explanation"].get("by_hand", False) for load in loads)
