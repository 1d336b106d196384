"""What somebody saw in a load where it was brought: it acts until the office takes it back."""

import pytest

from service.api.books import clients
from service.documents.rendering.reader import Reader
from tests.crews import Crew, drops
from tests.deliveries import Delivered
from tests.journeys.test_http_cleaner import with_role
from tests.outages import lots

CAUSES = {
    "litter": "littered",
    "seed": "weedy",
    "treated_or_unknown": "unknown",
    "smells": "sour",
}
WHY = {"Change-Reason": "She held the note of the next load."}
SENT_AWAY = {"state": "refused", "refusal_reason": "Weeds or treated grass in it"}


class SentAway(Delivered):
    """A crew whose load was delivered; there is another bed beside it."""

    def __init__(self):
        super().__init__()
        bed = self.client.get(f"/beds/{self.ids['beds']}").json
        fresh = {name: bed[name] for name in clients.BEDS.example if name in bed}
        self.other = self.post("/beds", {**fresh, "name": "Other"})["id"]

    def says_other_bed(self, job):
        told = self.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
        return next(one for one in told if one["destination_id"] == self.other)


def decisions(crew, code="said_where_brought"):
    path = f"/days/2026-05-24/decisions?depot_id={crew.ids['depots']}"
    return [one for one in crew.client.get(path).json["decisions"] if one["code"] == code]


def takes_back(crew, job, **headers):
    path, body = f"/jobs/{job}/decisions", {"decision": "as_recorded"}
    return crew.client.post(path, json=body, headers=headers)


@pytest.mark.parametrize(("cause", "status"), CAUSES.items())
def test_what_a_client_saw_is_what_the_lot_counts_as_everywhere(cause, status):
    crew = SentAway()
    crew.answers(answer="refused", reason=cause)
    lot = lots(crew.read())[crew.job]
    assert (lot["status"], lot["outcome"]) == (status, "hold")
    (word,) = [one for one in lot["findings"] if one["code"] == "said_where_brought"]
    assert word["facts"]["said_by"] == "R. Alvarez"
    assert word["facts"]["because"] == Reader("en").table("reason")[cause]
    assert crew.says_other_bed(crew.job)["code"] == f"lot_{status}"
    job = crew.client.get(f"/jobs/{crew.job}").json
    assert job["status"] == status
    # What the crew recorded stays beside it.
    assert {job["litter_seen"], job["weeds_in_seed"]} == {False}
    assert job["treatment_history"] == "none_recorded"
    (told,) = decisions(crew)
    assert Reader("en").table("reason")[cause] in told["sentence"]
    assert f"counts as {status}" in told["sentence"]
    assert "R. Alvarez" in told["sentence"]


def test_what_a_gate_or_a_crew_says_in_the_words_of_its_screen_acts():
    for code in ("en", "es", "pl"):
        crew = Crew(bay=True)
        job = crew.mow(crew.lawn("Clean"), at="10:00")
        (drop,) = drops(crew.read())
        said = Reader(code).table("load_reason")["weeds_or_treated"]
        crew.patch(f"/loads/{drop['load_id']}", {**SENT_AWAY, "refusal_reason": said})
        lot = lots(crew.read())[job]
        assert (lot["status"], lot["outcome"]) == ("unknown", "hold"), code
    crew = Crew(bay=True)
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    (drop,) = drops(crew.read())
    crew.patch(f"/loads/{drop['load_id']}", {**SENT_AWAY, "refusal_reason": "Gate shut"})
    assert lots(crew.read())[job]["status"] == "clean"
    assert decisions(crew) == []


def test_it_is_taken_back_by_the_office_with_a_reason_and_by_nobody_else():
    crew = SentAway()
    crew.answers(answer="refused", reason="treated_or_unknown")
    for role in ("crew", "integrator"):
        refused = takes_back(crew, crew.job, **WHY, **with_role(crew, role))
        assert refused.status_code == 403, refused.text
    refused = takes_back(crew, crew.job)
    assert (refused.status_code, refused.json["code"]) == (409, "taint_on_record")
    # Nor is it forgotten when the cut is amended, or a treatment is put on record.
    crew.patch(f"/jobs/{crew.job}", {"treatment_history": "none_recorded", "wetness": "lush"})
    assert crew.client.get(f"/jobs/{crew.job}").json["status"] == "unknown"
    kept = takes_back(crew, crew.job, **WHY)
    assert (kept.status_code, kept.json["status"]) == (200, "clean")
    last = crew.client.get(f"/jobs/{crew.job}/history").json["items"][-1]
    assert last["reason"] == WHY["Change-Reason"]
    assert decisions(crew) == []
    assert lots(crew.read())[crew.job]["status"] == "clean"
    again = takes_back(crew, crew.job, **WHY)
    assert (again.status_code, again.json["code"]) == (409, "nothing_was_said")


def test_a_load_that_was_sent_away_bears_what_was_seen_in_it_and_its_version():
    crew = Crew(bay=True)
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    (drop,) = drops(crew.read())
    path = f"/loads/{drop['load_id']}"
    said = crew.patch(path, SENT_AWAY)
    assert said["status"] == "unknown"
    kept = crew.client.get(path)
    assert kept.json["status"] == "unknown"
    assert kept.json["version"] == said["version"]
    crew.patch(path, {"refusal_reason": "Gate shut"})
    # What was said once is taken back by the office, not by another word.
    assert crew.client.get(f"/jobs/{job}").json["status"] == "unknown"


def says_meant(crew, word):
    path, body = f"/jobs/{crew.job}/decisions", {"decision": word}
    return crew.client.post(path, json=body, headers={"Change-Reason": "She was asked."})


@pytest.mark.parametrize(("word", "status"), CAUSES.items())
def test_what_a_client_says_in_its_own_words_waits_for_somebody_who_says_what_it_means(
    word, status
):
    crew = SentAway()
    crew.answers(answer="refused", remark="It is not nice at all")
    assert crew.says_other_bed(crew.job)["code"] == "lot_unknown"
    (told,) = decisions(crew)
    assert told["urgency"] == "now"
    assert "It is not nice at all (said by R. Alvarez)" in told["sentence"]
    assert "what they meant" in told["sentence"]
    said = " ".join(way["what"] for way in told["ways"])
    assert all(f"({one})" in said for one in (*CAUSES, "as_recorded"))
    meant = says_meant(crew, word)
    assert (meant.status_code, meant.json["status"]) == (200, status)
    assert crew.says_other_bed(crew.job)["code"] == f"lot_{status}"
    (told,) = decisions(crew)
    assert f"counts as {status} until somebody takes that back" in told["sentence"]
    assert says_meant(crew, word).status_code == 409


def test_what_had_nothing_to_do_with_the_grass_leaves_it_as_recorded():
    crew = SentAway()
    crew.answers(answer="refused", remark="We are on holiday")
    refused = crew.client.post(
        f"/jobs/{crew.job}/decisions", json={"decision": "litter"}, headers=with_role(crew, "crew")
    )
    assert refused.status_code == 403, refused.text
    assert takes_back(crew, crew.job, **WHY).json["status"] == "clean"
    assert decisions(crew) == []
    assert says_meant(crew, "litter").json["code"] == "nothing_was_said"


def test_a_listed_reason_that_is_not_of_the_grass_asks_nobody_what_it_means():
    crew = SentAway()
    crew.answers(answer="refused", reason="too_much", remark="Half of it would do")
    assert lots(crew.read())[crew.job]["status"] == "clean"
    assert decisions(crew) == []


def test_no_room_for_more_in_own_words_calls_nobody_back_before_somebody_has_asked():
    crew = SentAway()
    crew.answers(answer="part_accepted", accepted_share=0.5, remark="No room for more, thank you")
    (asked,) = decisions(crew)
    assert "No room for more" in asked["sentence"]
    assert decisions(crew, "recall") == []
    meant = crew.client.post(
        f"/jobs/{crew.job}/decisions", json={"decision": "litter"}, headers=WHY
    )
    assert meant.status_code < 300, meant.text
    assert len(decisions(crew, "recall")) == 1


@pytest.mark.parametrize("by", ["crew", "office"])
def test_free_words_that_crew_or_office_pass_on_are_asked_about_until_somebody_says_what_was_seen(
    by,
):
    crew = Crew(bay=True)
    job = crew.mow(crew.lawn("Clean"), at="10:00")
    (drop,) = drops(crew.read())
    crew.world.clock.move(minutes=5)
    words, load = "They smelt weed killer", f"/loads/{drop['load_id']}"
    if by == "office":
        crew.patch(load, {"state": "refused", "refusal_reason": words})
    else:
        now = crew.world.clock.now().isoformat()
        row = {"id": "5f6c1f8a-6f0c-4c57-9f10-9c3e8a1d2b12", "kind": "refused", "at": now}
        row |= {"load_id": drop["load_id"], "reason": words}
        said = {"device": "phone-1", "sent_at": now, "vehicle_id": crew.ids["vehicles"]}
        (kept,) = crew.client.post("/reports", json=said | {"reports": [row]}).json["reports"]
        assert kept["status"] == 200, kept
    (told,) = decisions(crew, "turned_away")
    assert words in told["sentence"]
    assert "Nobody has said yet whether that is of the grass" in told["sentence"]
    (way,) = [one for one in told["ways"] if "refusal_reason" in one["what"]]
    assert (way["method"], way["href"]) == ("PATCH", load)
    crew.patch(load, {"refusal_reason": "treated_or_unknown"})
    assert crew.client.get(f"/jobs/{job}").json["status"] == "unknown"
    (told,) = decisions(crew, "turned_away")
    assert "Nobody has said yet" not in told["sentence"]


def test_words_that_are_asked_about_as_a_place_wrote_them_are_not_asked_about_twice():
    crew = Delivered()
    crew.answers(answer="refused", remark="They smelt weed killer")
    crew.read()
    (told,) = decisions(crew, "turned_away")
    assert "Nobody has said yet" not in told["sentence"]
    assert len(decisions(crew)) == 1
