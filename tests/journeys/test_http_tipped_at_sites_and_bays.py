"""A tip at a site or in a bay that takes nothing is kept, and told at once as a bed's is."""

from datetime import timedelta

import pytest

from tests.holds import DAY, Yard
from tests.journeys.test_http_hot_heap import measured
from tests.outages import warnings

REFUSED, OVER = "tipped_where_refused", "over_limit"
PATHS = {"compost_site": "compost-sites", "hold_bay": "hold-bays"}
ALWAYS = [
    {"weekday": day, "opens": "06:00", "closes": "22:00", "last_load": "21:30"} for day in range(7)
]
IN_THE_MORNING = [
    {"weekday": day, "opens": "06:00", "closes": "12:00", "last_load": "11:30"} for day in range(7)
]


class Tipping(Yard):
    """A yard whose crew tips where it likes, on a Sunday noon."""

    def __init__(self):
        super().__init__()
        self.patch(f"/crews/{self.ids['crews']}", {"language": "en"})
        self.bay = f"/hold-bays/{self.ids['hold-bays']}"

    def says(self, minutes=0, **word):
        """Keep what the site says of itself, some minutes ago; then an hour goes by."""
        at = self.world.clock.now() - timedelta(minutes=minutes)
        self.patch(self.site, {"live_status": {"as_of": at.isoformat(), **word}})
        self.world.clock.move(minutes=60)

    def tips(self, job, kind="compost_site", *, status=200, language=None, **fields):
        """Report a tip of a lot; return what the crew is answered."""
        now = self.world.clock.now().isoformat()
        report = {
            "id": f"6f7d4f3e-9d38-4a53-8a1e-{job[-12:]}",
            "kind": "tipped",
            "at": now,
            "destination_kind": kind,
            "destination_id": self.ids[PATHS[kind]],
            "parts": [{"job_id": job}],
            **fields,
        }
        said = {
            "device": "phone",
            "sent_at": now,
            "vehicle_id": self.ids["vehicles"],
            "crew_id": self.ids["crews"],
            "reports": [report],
        }
        headers = {} if language is None else {"Accept-Language": language}
        (answer,) = self.client.post("/reports", json=said, headers=headers).json["reports"]
        assert answer["status"] == status, answer
        return answer

    def clean(self, at="12:30", **fields):
        return self.mow(self.lawn(f"Lawn of {at}"), at=at, **fields)

    def decisions(self, *codes):
        about = f"?depot_id={self.ids['depots']}"
        decisions = self.client.get(f"/days/{DAY}/decisions{about}").json["decisions"]
        return [one for one in decisions if one["code"] in (codes or (REFUSED, OVER))]

    def told(self, code=REFUSED):
        """Return the decision of a tip; warning and evening say the same, and each says it once."""
        (warning,) = warnings(self.routing(), code)
        (decision,) = self.decisions()
        about = f"?depot_id={self.ids['depots']}"
        closing = self.post(f"/days/{DAY}/closing{about}", {})
        (still_open,) = [one for one in closing["content"]["still_open"] if one["code"] == code]
        assert decision["code"] == code
        assert decision["sentence"] == still_open["sentence"] == warning["why"]
        return decision


@pytest.fixture
def yard():
    return Tipping()


def heated(yard, temperature_c):
    """Measure everything that lies in the bay, an hour later."""
    yard.world.clock.move(minutes=60)
    for entry in yard.client.get("/hold-entries?state=in_bay").json["items"]:
        reading = {
            "hold_entry_id": entry["id"],
            "depth_mm": 400,
            "temperature_c": temperature_c,
            "at": yard.world.clock.now().isoformat(),
            "measured_by": "Sam, yard",
        }
        yard.post("/heap-temperatures", reading)


def on_a_closed_day(yard):
    yard.patch(yard.site, {"closed_on": [DAY]})
    return "site_closed_day"


def out_of_hours(yard):
    yard.patch(yard.site, {"hours": IN_THE_MORNING})
    return "site_closed_hour"


def by_its_own_word(yard):
    yard.patch(yard.site, {"hours": ALWAYS})
    yard.says(state="closed")
    return "site_says_closed"


def since_it_shut_early(yard):
    yard.patch(yard.site, {"hours": ALWAYS})
    early = (yard.world.clock.now() - timedelta(minutes=2)).isoformat()
    yard.says(minutes=10, state="open", closes_early_at=early)
    return "site_says_closed"


def full_by_its_own_word(yard):
    yard.patch(yard.site, {"hours": ALWAYS})
    yard.says(state="open", capacity_left_kg=0)
    return "site_full"


SHUT = [on_a_closed_day, out_of_hours, by_its_own_word, since_it_shut_early, full_by_its_own_word]


@pytest.mark.parametrize("how", SHUT)
def test_a_tip_at_a_site_that_takes_nothing_is_kept_and_told_at_once_to_both(yard, how):
    code, job = how(yard), yard.clean()
    answer = yard.tips(job)
    (warning,) = answer["warnings"]
    assert (warning["code"], warning["rule_class"]) == (REFUSED, "site")
    assert warning["sentence"] in answer["sentence"]
    assert "The office is told" in answer["sentence"]
    decision = yard.told()
    (about,) = warnings(yard.routing(), REFUSED)
    assert about["refused_by"] == [code]
    assert (decision["urgency"], decision["destination_id"]) == (
        "now",
        yard.ids["compost-sites"],
    )
    load = answer["load_id"]
    assert {way["href"] for way in decision["ways"]} == {f"/loads/{load}", yard.site}
    assert "client" not in decision["sentence"]
    yard.patch(f"/loads/{load}", {"state": "refused", "refusal_reason": "Shut."})
    assert yard.decisions() == []


def test_a_crew_reads_why_in_its_own_language(yard):
    yard.patch(yard.site, {"hours": IN_THE_MORNING})
    answer = yard.tips(yard.clean(), language="pl")
    assert "13:0" in answer["warnings"][0]["sentence"]
    assert "The site" not in answer["warnings"][0]["sentence"]


def test_what_a_site_says_after_a_tip_makes_it_none_where_it_was_shut(yard):
    yard.patch(yard.site, {"hours": ALWAYS})
    assert yard.tips(yard.clean())["warnings"] == []
    yard.world.clock.move(minutes=5)
    yard.says(state="closed")
    assert warnings(yard.routing(), REFUSED) == []
    assert yard.decisions() == []


def test_more_than_a_site_has_room_for_is_told_with_how_much_it_was(yard):
    yard.patch(yard.site, {"hours": ALWAYS})
    yard.says(state="open", capacity_left_kg=10)
    answer = yard.tips(yard.clean())
    (warning,) = answer["warnings"]
    assert (warning["code"], warning["rule_class"]) == (OVER, "site")
    assert "10 kg" in warning["sentence"]
    assert "10 kg" in yard.told(OVER)["sentence"]


def test_a_gate_that_gave_a_ticket_has_taken_it_whatever_its_hours_say(yard):
    ticket = {"weighed_net": {"value": 9, "unit": "kg"}, "weigh_ticket": "W-1"}
    assert yard.tips(yard.clean(), **ticket)["warnings"] == []
    assert warnings(yard.routing(), REFUSED) == []


def test_what_another_load_took_of_a_site_leaves_less_for_the_next(yard):
    yard.patch(yard.site, {"hours": ALWAYS, "daily_capacity_kg": 20})
    assert yard.tips(yard.clean("11:00"))["warnings"] == []
    yard.world.clock.move(minutes=5)
    (warning,) = yard.tips(yard.clean("12:00"))["warnings"]
    assert warning["code"] == OVER
    assert len(yard.decisions()) == 1


@pytest.mark.parametrize("why", ["status", "kill"])
def test_a_lot_that_a_site_does_not_take_is_kept_with_a_reason_and_its_crew_reads_why(yard, why):
    takes = {"status": ["clean"], "kill": ["clean", "weedy"]}[why]
    yard.patch(yard.site, {"hours": ALWAYS, "accepted_statuses": takes, "kill_evidence": []})
    yard.patch(yard.site, {"process_temperature_c": None, "process_days": None})
    job = yard.clean(weeds_in_seed=True)
    assert yard.tips(job, status=409)["problem"]["code"] == "not_for_this_place"
    other = {"id": "6f7d4f3e-9d38-4a53-8a1e-0d9a1c6c2b12", "reason": "We did not see them."}
    answer = yard.tips(job, **other)
    (warning,) = answer["warnings"]
    assert warning["code"] == REFUSED
    said = {"status": "does not take weedy", "kill": "ends weed seed"}[why]
    assert said in answer["sentence"]
    assert len(yard.decisions("recall", REFUSED)) == 1


class TestAHotHeap:
    """A bay in which a heap was measured at 66 C."""

    @pytest.fixture
    def yard(self):
        yard = Tipping()
        yard.patch(yard.bed, {"consent": {"state": "refused"}})
        yard.held()
        measured(yard, 66, minutes=30)
        yard.world.clock.move(minutes=5)
        return yard

    def test_whoever_tips_there_reads_at_once_to_keep_away(self, yard):
        answer = yard.tips(yard.clean("13:00"), "hold_bay")
        (warning,) = answer["warnings"]
        assert warning["code"] == REFUSED
        assert "66 C" in answer["sentence"]
        assert "fetch it back" not in answer["sentence"]
        decision = yard.told()
        assert (decision["urgency"], decision["destination_id"]) == (
            "now",
            yard.ids["hold-bays"],
        )
        assert "fetch" not in " ".join(way["what"].lower() for way in decision["ways"])
        assert "Keep everybody away" in decision["sentence"]

    def test_it_is_told_no_more_once_the_heap_has_cooled(self, yard):
        yard.tips(yard.clean("13:00"), "hold_bay")
        assert len(yard.decisions(REFUSED)) == 1
        heated(yard, 35)
        assert yard.decisions(REFUSED) == []

    def test_what_is_measured_only_later_makes_no_tip_one_onto_a_hot_heap(self):
        yard = Tipping()
        yard.patch(yard.bed, {"consent": {"state": "refused"}})
        yard.held()
        yard.world.clock.move(minutes=5)
        assert yard.tips(yard.clean("13:00"), "hold_bay")["warnings"] == []
        heated(yard, 66)
        assert yard.decisions(REFUSED) == []


def test_more_than_a_bay_holds_is_told_to_its_crew_and_to_the_office_once(yard):
    yard.patch(yard.bay, {"volume_m3": 0.01})
    answer = yard.tips(yard.clean(), "hold_bay")
    (warning,) = answer["warnings"]
    assert warning["code"] == OVER
    assert "there was room for 1 kg" in answer["sentence"]
    yard.routing()
    assert [one["code"] for one in yard.decisions(REFUSED, OVER, "bay_over_volume")] == [
        "bay_over_volume"
    ]
