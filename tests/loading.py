"""A yard in whose bay grass lies that is loaded, brought and taken back."""

from uuid import UUID

from service.usecases.mass_book.checking import CheckMassBook
from tests.crews import drops
from tests.holds import Yard


class Loading(Yard):
    """A yard in whose bay clean grass waits that a bed takes now, and no job is ahead."""

    def __init__(self):
        super().__init__()
        self.count = 0
        self.job = self.held(treatment_history="unknown")
        self.patch(f"/jobs/{self.job}", {"treatment_history": "none_recorded"})
        self.routing()
        self.world.clock.move(minutes=30)

    def say(self, kind, *, status=200, **fields):
        """Report one thing that happens now; return the answer to it, or its problem."""
        self.count += 1
        own = str(UUID(int=(0x01900000_0000_7000_9100 << 48) + self.count))
        now = self.world.clock.now().isoformat()
        report = {"id": own, "kind": kind, "at": now, **fields}
        body = {
            "device": "tablet-3",
            "sent_at": now,
            "crew_id": self.ids["crews"],
            "vehicle_id": self.ids["vehicles"],
            "reports": [report],
        }
        answer = self.client.post("/reports", json=body)
        assert answer.status_code == 200, answer.text
        (row,) = answer.json["reports"]
        assert row["status"] == status, row
        return {**row, "id": own} if status == 200 else row["problem"]

    @property
    def entry_id(self):
        return self.entries()[-1]["id"]

    def entries(self):
        return self.client.get("/hold-entries").json["items"]

    def load(self, **fields):
        answer = self.say("loaded", hold_entry_id=self.entry_id, **fields)
        self.world.clock.move(minutes=5)
        return answer

    def at(self):
        """Return the shares of the lot by the kind of place it is at."""
        found = self.client.get(f"/mass-balances?lot_id={self.job}").json["balances"]
        return {one["place_kind"]: one["share"] for one in found if one["place_kind"] != "lawn"}

    def drop(self):
        (drop,) = drops(self.routing())
        return drop

    def tip(self, **said):
        drop = self.drop()
        self.world.clock.move(minutes=5)
        self.patch(f"/loads/{drop['load_id']}", {"state": "delivered", **said})
        return drop["load_id"]

    def turn_away(self, share=0.5):
        drop = self.drop()
        self.world.clock.move(minutes=5)
        said = {"state": "partly_refused", "refused_share": share, "refusal_reason": "Enough."}
        if share == 1.0:
            said = {"state": "refused", "refusal_reason": "Enough."}
        self.patch(f"/loads/{drop['load_id']}", said)
        return drop["load_id"]

    def checked(self):
        """Assert that the mass book says what the records say."""
        found = CheckMassBook(open_reading=self.world.open_unit_of_work)(self.firm_id)
        assert found.differences == ()

    def whole_kg(self):
        return self.client.get(f"/jobs/{self.job}").json["estimate"]["mass_kg"]
