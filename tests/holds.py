"""A firm with a bay, a bed and a site, and grass that lies in the bay, kept over HTTP."""

import jsonschema

from service.api.work.days.routing_shape import ROUTING
from service.api.work.loads.hold_shape import HOLD_QUEUE
from tests.crews import DAY, Crew, drops

SMALL = {"value": 60, "unit": "m2"}


class Yard(Crew):
    """A crew whose clippings may lie in the bay: a Sunday noon, on which the site is closed."""

    def __init__(self):
        super().__init__(bay=True)
        with self.world.open_unit_of_work() as unit:
            self.firm_id = unit.firms.all()[0].id
        self.bed = f"/beds/{self.ids['beds']}"
        self.site = f"/compost-sites/{self.ids['compost-sites']}"
        self.site_name = self.client.get(self.site).json["name"]

    def treated(self, lawn, active="aminopyralid", **fields):
        body = {
            "lawn_id": lawn,
            "product": "Lawn treatment",
            "active_ingredients": [active],
            "applied_on": "2026-05-10",
            "statement_source": "applicator_record",
            "stated_by": "T. Green, spray technician",
            **fields,
        }
        return f"/treatments/{self.post('/treatments', body)['id']}"

    def held(self, *, lawn=None, at="11:00", **fields):
        """Mow, and tip it where it waits; return the job."""
        job = self.mow(lawn or self.lawn(f"Lawn of {at}"), at=at, **fields)
        (drop,) = [d for d in drops(self.routing()) if d["destination_kind"] == "hold_bay"]
        self.world.clock.move(minutes=5)
        self.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
        return job

    def routing(self, day=DAY):
        answer = self.client.get(f"/days/{day}/routing?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        jsonschema.Draft202012Validator(ROUTING).validate(answer.json["routing"])
        return answer.json

    def queue(self):
        answer = self.client.get(f"/hold-queue?depot_id={self.ids['depots']}")
        assert answer.status_code == 200, answer.text
        jsonschema.Draft202012Validator(HOLD_QUEUE).validate(answer.json)
        return answer.json["entries"]

    def entry(self):
        (entry,) = self.queue()
        return entry


def entry_of(yard, entry):
    """Return a kept entry by its row in the queue."""
    return yard.client.get(f"/hold-entries/{entry['hold_entry_id']}").json
