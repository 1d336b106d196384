"""The hour of a tip is corrected: it is judged as a tip that had been reported of that hour."""

from datetime import datetime, timedelta

import pytest

from tests.crews import drops
from tests.holds import DAY, Yard
from tests.journeys.test_http_refused_for_cause import decisions
from tests.outages import lots

WHY = "The crew looked at its clock again."
ZONE = "+01:00"


def clock(at):
    return f"{DAY}T{at}:00{ZONE}"


def bed_load(yard):
    (drop,) = [one for one in drops(yard.read()) if one["destination_kind"] == "bed"]
    return f"/loads/{drop['load_id']}", drop


def corrected(yard, load, at, status=200, **said):
    return yard.patch(load, {"done_at": at}, status, **said)


class TestSour:
    """Lush grass of nine that was tipped on a bed at one, well before it turned."""

    @pytest.fixture
    def yard(self):
        yard = Yard()
        self.job = yard.mow(yard.lawn("Lush"), at="09:00", wetness="lush")
        self.load, drop = bed_load(yard)
        self.until = datetime.fromisoformat(drop["keeps_until"])
        yard.patch(self.load, {"state": "delivered", "done_at": clock("13:00")})
        answer = yard.client.post(f"{self.load}/delivery-notes")
        assert answer.status_code == 201, answer.text
        yard.world.clock.at = self.until + timedelta(hours=3)
        return yard

    def notes(self, yard):
        found = yard.client.get(f"/delivery-notes?load_id={self.load.rpartition('/')[2]}")
        return sorted(found.json["items"], key=lambda note: note["note_version"])

    def test_an_hour_at_which_it_had_turned_is_not_kept_without_a_reason(self, yard):
        late = (self.until + timedelta(minutes=5)).isoformat()
        problem = corrected(yard, self.load, late, 409)
        assert problem["code"] == "not_for_this_place"
        assert "sour" in problem["detail"]
        kept = yard.client.get(self.load).json
        assert (kept["done_at"], kept["status"]) == (f"{DAY}T12:00:00Z", "clean")

    def test_with_one_it_is_kept_and_called_back_and_the_note_says_so(self, yard):
        late = (self.until + timedelta(minutes=5)).isoformat()
        assert corrected(yard, self.load, late, reason=WHY)["status"] == "sour"
        (recall,) = decisions(yard, "recall")
        assert f"/loads/{recall['load_id']}" == self.load
        assert "sour" in recall["sentence"]
        assert [note["note_version"] for note in self.notes(yard)] == [1, 2]
        note = yard.client.get(f"/delivery-notes/{self.notes(yard)[1]['id']}").json["note"]
        assert note["facts"]["called_back"] is True, note["changes"]

    def test_an_hour_at_which_it_was_fresh_needs_none_and_no_other_note(self, yard):
        soon = (self.until - timedelta(minutes=5)).isoformat()
        assert corrected(yard, self.load, soon)["status"] == "clean"
        assert decisions(yard, "recall") == []
        assert len(self.notes(yard)) == 1

    def test_a_mistake_about_it_is_taken_back_without_a_word(self, yard):
        late = (self.until + timedelta(minutes=5)).isoformat()
        corrected(yard, self.load, late, reason=WHY)
        assert corrected(yard, self.load, clock("13:00"))["status"] == "clean"
        assert decisions(yard, "recall") == []
        assert len(self.notes(yard)) == 3

    def test_an_hour_that_cannot_be_is_told_as_that(self, yard):
        for at in (clock("08:00"), f"{DAY[:4]}-12-24T12:00:00Z"):
            problem = corrected(yard, self.load, at, 422)
            assert [fault["pointer"] for fault in problem["errors"]] == ["/done_at"]

    def test_an_hour_and_a_part_turned_away_are_judged_together(self, yard):
        late = (self.until + timedelta(minutes=5)).isoformat()
        said = {"state": "partly_refused", "refused_share": 0.5, "refusal_reason": "Too much."}
        problem = yard.patch(self.load, {**said, "done_at": late}, 409)
        assert problem["code"] == "not_for_this_place"
        yard.patch(self.load, said)


def test_an_hour_at_which_the_client_wants_nobody_needs_a_reason():
    yard = Yard()
    yard.mow(yard.lawn("Noon"), at="12:00")
    load, _ = bed_load(yard)
    hours = {"weekday": 6, "opens": "08:00", "closes": "13:30", "last_load": "13:30"}
    yard.patch(yard.bed, {"hours": [hours]})
    yard.world.clock.move(hours=2)
    yard.patch(load, {"state": "delivered", "done_at": clock("13:10")})
    problem = corrected(yard, load, clock("13:40"), 409)
    assert problem["code"] == "outside_hours"
    assert yard.client.get(load).json["done_at"] == f"{DAY}T12:10:00Z"
    corrected(yard, load, clock("13:20"))
    corrected(yard, load, clock("13:40"), reason=WHY)
    (last,) = yard.client.get(f"{load}/history").json["items"][-1:]
    assert last["reason"] == WHY


class TestInOneBody:
    """Clean grass of ten, litter of eleven in the same body, which went to the bay at twelve."""

    @pytest.fixture
    def yard(self):
        yard = Yard()
        self.clean = yard.mow(yard.lawn("Clean"), at="10:00")
        return yard

    def litter_to_the_bay(self, yard):
        self.litter = yard.mow_tainted("litter", at="11:00")
        yard.post(
            "/loads",
            {
                "vehicle_id": yard.ids["vehicles"],
                "destination_kind": "hold_bay",
                "destination_id": yard.ids["hold-bays"],
                "done_at": clock("12:00"),
                "parts": [{"job_id": self.litter}],
            },
        )
        self.code = yard.client.get(f"/jobs/{self.litter}").json["lot_code"]

    def test_what_was_aboard_then_counts_though_it_is_tipped_by_now(self, yard):
        load, _ = bed_load(yard)
        yard.patch(load, {"state": "delivered", "done_at": clock("10:30")})
        self.litter_to_the_bay(yard)
        problem = corrected(yard, load, clock("11:30"), 409)
        assert (problem["code"], self.code in problem["detail"]) == ("not_for_this_place", True)
        corrected(yard, load, clock("10:50"))
        corrected(yard, load, clock("12:30"))
        kept = corrected(yard, load, clock("11:30"), reason=WHY)
        assert kept["status"] == "littered"
        assert {part["job_id"]: part["share"] for part in kept["parts"]}[self.litter] == 0.0
        assert len(decisions(yard, "recall")) == 1

    def test_a_first_report_that_comes_after_the_next_tip_is_judged_so_too(self, yard):
        self.litter_to_the_bay(yard)
        tip = {
            "vehicle_id": yard.ids["vehicles"],
            "destination_kind": "bed",
            "destination_id": yard.ids["beds"],
            "parts": [{"job_id": self.clean}],
        }
        said = {"json": {**tip, "done_at": clock("11:30")}}
        refused = yard.client.post("/loads", **said)
        assert (refused.status_code, refused.json["code"]) == (409, "not_for_this_place")
        assert self.code in refused.json["detail"]
        yard.post("/loads", {**tip, "done_at": clock("10:30")})
        assert lots(yard.read())[self.litter]["status"] == "littered"
