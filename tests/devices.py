"""A crew's tablet, which reports what happened in the field."""

from datetime import timedelta
from uuid import UUID

from tests.crews import Crew

ENOUGH = {"area_mowed": {"value": 60, "unit": "m2"}, "height_removed": {"value": 30, "unit": "mm"}}
CLEAN = {**ENOUGH, "wetness": "dry", "treatment_history": "none_recorded"}


class Device(Crew):
    """A crew's tablet, whose clock may be wrong."""

    def __init__(self, world=None):
        super().__init__(bay=True, world=world)
        self.count, self.ahead = 0, timedelta()

    def clock(self, at):
        """Return what the tablet shows when it is ``at`` o'clock in London."""
        hour, minute = map(int, at.split(":"))
        now = self.world.clock.now().replace(hour=hour - 1, minute=minute)
        return (now + self.ahead).isoformat()

    def what(self, kind, at="12:30", **fields):
        self.count += 1
        own = str(UUID(int=(0x01900000_0000_7000_9000 << 48) + self.count))
        return {"id": own, "kind": kind, "at": self.clock(at), **fields}

    def send(self, *reports, **fields):
        body = {
            "device": "tablet-3",
            "sent_at": (self.world.clock.now() + self.ahead).isoformat(),
            "crew_id": self.ids["crews"],
            "vehicle_id": self.ids["vehicles"],
            "reports": list(reports),
            **fields,
        }
        answer = self.client.post("/reports", json=body)
        assert answer.status_code == 200, answer.text
        return answer.json

    def kept(self, *reports):
        """Send reports that are all kept; return their answers in the order of happening."""
        rows = self.send(*reports)["reports"]
        assert [row["status"] for row in rows] == [200] * len(rows), rows
        return rows

    def refused(self, report):
        (row,) = self.send(report)["reports"]
        assert row["status"] >= 400
        return row["problem"]

    def site(self):
        site = self.ids["compost-sites"]
        return {"destination_kind": "compost_site", "destination_id": site}

    def load(self, load_id):
        return self.client.get(f"/loads/{load_id}").json

    def later(self, **span):
        self.world.clock.move(**(span or {"minutes": 5}))
