"""A client whose every text bears a mark, and days of a firm in which everything happens to it."""

from uuid import UUID

from tests.crews import DAY, NOW, SMALL, Crew, drops

MARK = "quillfeather"
POINT = [-1.234567, 51.765432]


def said(what):
    """Return a text that is found again, wherever it went."""
    return f"{MARK} {what}"


class Marked(Crew):
    """A firm with the usual client, and one whose every text bears the mark."""

    def __init__(self, world=None):
        super().__init__(bay=True, world=world)
        self.number = 0
        with self.world.open_unit_of_work() as unit:
            self.firm_id = unit.firms.all()[0].id
        self.bed_of_another = f"/beds/{self.ids['beds']}"
        self.marked = self.post(
            "/clients",
            {
                "name": said("name"),
                "phone": "+44 20 7946 0999",
                "email": f"{MARK}@example.org",
                "address": said("street 1,\nTown"),
            },
        )
        self.id = self.marked["id"]
        self.home = self.post(
            "/properties",
            {
                "client_id": self.id,
                "name": said("house"),
                "address": said("street 2,\nTown"),
                "locality": "Elm End",
                "point": {"type": "Point", "coordinates": POINT},
                "access_notes": said("gate code 4711\nmind the dog"),
                "may_sign": said("neighbour"),
            },
        )["id"]
        self.own_lawn = self.lawn_of_marked("lawn")
        self.own_bed = self.post("/beds", self.bed_of_marked())["id"]

    def lawn_of_marked(self, name):
        lawn = {"property_id": self.home, "name": said(name), "grass_kind": "cool_season"}
        return self.post("/lawns", lawn | {"area": {"value": 450, "unit": "m2"}})["id"]

    def bed_of_marked(self):
        like = self.client.get(self.bed_of_another).json
        names = ("area", "drainage", "ground_state", "ground_state_at", "water_distance_m")
        return {
            **{name: like[name] for name in names},
            "property_id": self.home,
            "name": said("border"),
            "well_distance_m": 300,
            "sensitive_plants": said("orchids"),
            "where_to_lay": said("behind the shed"),
            "consent": {"state": "given", "given_on": "2026-04-01", "expires_on": "2026-10-31"},
            "legal_basis": {
                "kind": "registered_exemption",
                "reference": "EX 4711",
                "expires_on": "2027-05-01",
            },
            "opening_balance": {
                "mass_kg": 10,
                "nitrogen_kg": 0.1,
                "laid_on": "2026-03-01",
                "stated_by": said("grandmother"),
            },
            "point": {"type": "Point", "coordinates": [POINT[0], POINT[1] + 0.0001]},
        }

    def keyed(self, path, body):
        self.number += 1
        key = {"Idempotency-Key": f"key-of-request-{self.number:04}"}
        answer = self.client.post(path, json=body, headers=key)
        assert answer.status_code in {200, 201}, answer.text
        return answer.json

    def reports(self, **what):
        self.number += 1
        one = {
            "id": str(UUID(int=(0x01900001_0000_7000_8000 << 48) + self.number)),
            "at": self.world.clock.now().isoformat(),
            "vehicle_id": self.ids["vehicles"],
            **what,
        }
        body = {"device": str(UUID(int=7)), "sent_at": one["at"], "reports": [one]}
        answer = self.client.post("/reports", json=body)
        assert answer.status_code == 200, answer.text
        (row,) = answer.json["reports"]
        assert row["status"] == 200, row
        return row

    def planned(self):
        return self.keyed("/day-plans", {"depot_id": self.ids["depots"], "day": DAY})

    def tips(self, place, *jobs, kind="bed", status=201, **fields):
        body = {
            "vehicle_id": self.ids["vehicles"],
            "destination_kind": kind,
            "destination_id": place,
            "done_at": self.world.clock.now().isoformat(),
            "parts": [{"job_id": job} for job in jobs],
            **fields,
        }
        why = {"Change-Reason": said("so it was")}
        answer = self.client.post("/loads", json=body, headers=why)
        assert answer.status_code == status, answer.text
        return answer.json

    def lives(self):
        """Let a day happen to it in which every paper is written and every text told."""
        nobody = self.world.app.test_client()
        self.keyed(
            "/treatments",
            {
                "lawn_id": self.lawn_of_marked("back lawn"),
                "product": "Lawn feed",
                "active_ingredients": [],
                "applied_on": "2026-05-01",
                "statement_source": "client_statement",
                "stated_by": said("husband"),
                "remarks": said("from the shop"),
                "bioassay": {
                    "clippings_cut_on": "2026-05-10",
                    "passed": True,
                    "stated_by": said("daughter"),
                },
            },
        )
        own = self.mow(self.own_lawn, at="09:00", remarks=said("wet corner"))
        job = self.client.get(f"/jobs/{own}").json
        self.post("/keys", {"role": "client", "name": said("key"), "client_id": self.id})
        self.patch(f"/jobs/{own}", {"remarks": said("dry corner")}, reason=said("it dried"))
        self.patch(f"/clients/{self.id}", {"name": said("new name")}, reason=said("married"))
        other = self.mow(self.lawn("Other"), at="10:00")
        self.planned()
        self.patch(f"/beds/{self.own_bed}", {"where_to_lay": said("left of the shed")})
        self.planned()
        for method in ("decisions", "round"):
            self.client.get(f"/days/{DAY}/{method}?depot_id={self.ids['depots']}")
        self.world.clock.move(minutes=20)
        # What is the other client's goes onto the bed of this one, and the other way round.
        load = self.tips(self.own_bed, other)
        note = self.post(f"/loads/{load['id']}/delivery-notes", {})
        address = note["links"]["page"].removeprefix("http://127.0.0.1:8080")
        self.note_id, self.address = note["id"], address
        self.world.clock.move(minutes=5)
        answer = nobody.post(
            f"{address}/acknowledgement",
            json={
                "answer": "part_accepted",
                "accepted": said("half of it"),
                "accepted_share": 0.5,
                "reason": "wet",
                "remark": said("thanks"),
                "signed_by": said("signature"),
            },
        )
        assert answer.status_code == 200, answer.text
        yes = {"further": "yes", "expires_on": "2026-09-30", "signed_by": said("hand")}
        assert nobody.post(f"{address}/consent", json=yes).status_code == 200
        given = self.tips(self.ids["beds"], own)
        self.other_note = self.post(f"/loads/{given['id']}/delivery-notes", {})["id"]
        self.world.clock.move(minutes=5)
        began = self.keyed("/recalls", {"lot_code": job["lot_code"], "reason": said("was sprayed")})
        self.recall = f"/recalls/{began['id']}"
        self.client.post(f"{self.recall}/calls", json={"number": 0, "said": "Will wait."})
        self.client.post(f"{self.recall}/end")
        again = {"job_id": other, "reason": said("of the other")}
        lot = self.client.get(f"/jobs/{other}").json["lot_code"]
        second = self.post("/recalls", {"lot_code": lot, "reason": again["reason"]})
        (number,) = [n for n, one in enumerate(second["people"]) if MARK in one["name"]]
        call = {"number": number, "said": said("yes")}
        assert self.client.post(f"/recalls/{second['id']}/calls", json=call).status_code < 300
        self.client.post(f"/recalls/{second['id']}/end")
        third = self.lawn_of_marked("third lawn")
        self.world.clock.move(minutes=5)
        cut = self.reports(
            kind="mown",
            lawn_id=third,
            crew_id=self.ids["crews"],
            area_mowed=SMALL,
            height_removed={"value": 30, "unit": "mm"},
            remarks=said("reported"),
        )
        self.world.clock.move(minutes=5)
        place = {"destination_kind": "bed", "destination_id": self.ids["beds"]}
        self.reports(kind="refused", **place, reason=said("refused"))
        self.held(cut["job_id"])
        closing = f"/days/{DAY}/closing?depot_id={self.ids['depots']}"
        assert self.client.post(closing, json={"remarks": f"{said('name')} rang."})
        return self

    def sums(self):
        """Return what all that was moved came to."""
        query = {"depot_id": self.ids["depots"], "since": DAY, "until": DAY}
        told = self.client.get("/totals", query_string=query).json["sums"]
        return [{**row, "name": None} for row in told]

    def held(self, job):
        bay = self.client.get("/hold-bays").json["items"][0]["id"]
        self.world.clock.move(minutes=5)
        self.tips(bay, job, kind="hold_bay")
        (entry,) = self.client.get("/hold-entries?state=in_bay").json["items"]
        path = f"/hold-entries/{entry['id']}"
        self.world.clock.move(minutes=5)
        measured = {"depth_mm": 200, "temperature_c": 31, "measured_by": said("thermometer")}
        measured["at"] = self.world.clock.now().isoformat()
        self.keyed("/heap-temperatures", {"hold_entry_id": entry["id"], **measured})
        self.world.clock.move(minutes=5)
        gone = {"released_as": "elsewhere", "released_to": said("farm")}
        self.patch(path, {"state": "released", **gone}, reason=said("let go"))


__all__ = ["MARK", "NOW", "Marked", "drops", "said"]
