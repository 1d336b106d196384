"""What was laid is refused by its note days later: it lies there."""

import pytest

from tests.crews import drops
from tests.deliveries import Delivered
from tests.outages import warnings


@pytest.fixture
def crew():
    return Delivered()


class TestARefusalDaysLater:
    """What was laid is refused by its note two days later: it lies there."""

    DAY = "2026-05-26"

    @pytest.fixture
    def crew(self):
        crew = Delivered()
        crew.read()
        crew.world.clock.move(hours=48)
        return crew

    def told(self, crew):
        where = f"depot_id={crew.ids['depots']}"
        listed = crew.client.get(f"/days/{self.DAY}/decisions?{where}").json["decisions"]
        lot = crew.client.get(f"/jobs/{crew.job}").json["lot_code"]
        return [one for one in listed if lot in one["lot_codes"]]

    def routing(self, crew):
        answer = crew.client.get(f"/days/{self.DAY}/routing?depot_id={crew.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json

    def test_it_lies_on_the_bed_until_somebody_says_that_it_was_taken_up(self, crew):
        crew.answers(answer="refused", reason="changed_mind", remark="We grow beans here now.")
        assert crew.state() == ("delivered", 0.0)
        crew.mow(crew.lawn("Later"), at="10:00", day=self.DAY)
        (drop,) = drops(self.routing(crew))
        assert crew.job not in str(drop)
        (decision,) = self.told(crew)
        assert decision["code"] == "refused_later"
        assert decision["load_id"] in crew.load
        assert "R. Alvarez refused at" in decision["sentence"]
        assert "We grow beans here now." in decision["sentence"]
        assert "until somebody takes it up" in decision["sentence"]
        assert f"/loads/{decision['load_id']}" in {way["href"] for way in decision["ways"]}
        crew.patch(crew.load, {"state": "refused"})
        (warning,) = warnings(self.routing(crew), "aboard_overnight")
        assert warning["lot_codes"] == decision["lot_codes"]
        assert "refused_later" not in [one["code"] for one in self.told(crew)]

    @pytest.mark.parametrize("by_note", [True, False])
    def test_nothing_more_is_laid_on_its_bed_before_it_is_settled_whoever_passes_the_no_on(
        self, crew, by_note
    ):
        crew.world.clock.move(hours=24 * 12)  # its last layer has rested
        self.DAY = "2026-06-07"
        crew.mow(crew.lawn("Later"), at="10:00", day=self.DAY)
        assert [one["destination_kind"] for one in drops(self.routing(crew))] == ["bed"]
        if by_note:
            crew.answers(answer="refused", reason="changed_mind", remark="We grow beans here now.")
        else:
            crew.patch(crew.load, {"refusal_reason": "They grow beans there now."})
        assert "bed" not in [one["destination_kind"] for one in drops(self.routing(crew))]
        (decision,) = self.told(crew)
        assert decision["code"] == "refused_later"
        assert "beans" in decision["sentence"]
        crew.patch(crew.load, {"refusal_reason": None}, reason="They rang: it may stay.")
        assert [one["destination_kind"] for one in drops(self.routing(crew))] == ["bed"]
        assert self.told(crew) == []

    def test_who_tips_more_onto_it_all_the_same_is_told_and_so_is_the_office(self, crew):
        crew.world.clock.move(hours=24 * 12)
        self.DAY = "2026-06-07"
        crew.patch(crew.load, {"refusal_reason": "They grow beans there now."})
        tip = {
            "vehicle_id": crew.ids["vehicles"],
            "destination_kind": "bed",
            "destination_id": crew.ids["beds"],
            "done_at": crew.world.clock.now().isoformat(),
            "parts": [{"job_id": crew.mow(crew.lawn("Later"), at="10:00", day=self.DAY)}],
        }
        (warning,) = crew.post("/loads", tip)["warnings"]
        assert (warning["code"], warning["rule_class"]) == ("tipped_where_refused", "client")
        where = f"depot_id={crew.ids['depots']}"
        listed = crew.client.get(f"/days/{self.DAY}/decisions?{where}").json["decisions"]
        (told,) = [one for one in listed if one["code"] == "tipped_where_refused"]
        assert "They grow beans there now" in told["sentence"]
        assert told["urgency"] == "now"
        # What is said later of the load below says nothing of the hour of the no.
        crew.world.clock.move(hours=1)
        ticket = {"weighed_net": {"value": 9, "unit": "kg"}, "weigh_ticket": "B-1"}
        crew.patch(crew.load, ticket)
        listed = crew.client.get(f"/days/{self.DAY}/decisions?{where}").json["decisions"]
        assert "tipped_where_refused" in [one["code"] for one in listed]

    def test_it_stays_where_somebody_says_that_it_does(self, crew):
        crew.answers(answer="part_accepted", accepted_share=0.25, reason="too_much")
        (decision,) = self.told(crew)
        assert "took 25%" in decision["sentence"]
        crew.patch(crew.load, {"refusal_reason": None}, reason="They rang: it may stay.")
        assert self.told(crew) == []
        assert crew.state() == ("delivered", 0.0)

    def test_what_was_seen_in_it_counts_at_once_and_nobody_is_told_to_call_who_has_said_it(
        self, crew
    ):
        crew.answers(answer="refused", reason="litter")
        assert crew.client.get(f"/jobs/{crew.job}").json["status"] == "littered"
        (decision,) = self.told(crew)
        assert decision["code"] == "refused_later"
