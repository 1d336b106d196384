"""What is learned of grass after it left a body counts for what lay there with it."""

from dataclasses import replace
from uuid import UUID

import pytest

from service.core.jobs import LotFinding
from service.core.materials import LotStatus
from service.destinations.lots import OWN_WORDS, SAID
from service.usecases.records.loads.mixed_later import mixed_later
from tests.crews import another_crew, drops
from tests.journeys.test_http_recall_mixed import Parted, lot_of
from tests.journeys.test_http_refused_for_cause import WHY, decisions, takes_back

WORD = "lay_in_one_body"


@pytest.fixture
def yard():
    return Parted()


def status(yard, job):
    return yard.client.get(f"/jobs/{job}").json["status"]


def learn(yard, job=None, active="aminopyralid"):
    """Let a treatment of a lot's lawn be told of only now; return its path."""
    return yard.treated(yard.client.get(f"/jobs/{job or yard.first}").json["lawn_id"], active)


def words(yard, job):
    return [
        (one["status"], one["facts"]["lay_with"])
        for one in yard.client.get(f"/jobs/{job}").json["findings"]
        if one["code"] == WORD
    ]


@pytest.mark.parametrize("how", ["tipped", "given"])
def test_what_stays_aboard_is_unknown_once_what_left_it_is_learned_to_be_treated(yard, how):
    if how == "tipped":
        yard.tip(yard.first, kind="hold_bay")
    else:
        other = another_crew(yard)["vehicle_id"]
        yard.say("given", to_vehicle_id=other, parts=[{"job_id": yard.first}])
        yard.world.clock.move(minutes=5)
    assert status(yard, yard.second) == "clean"
    learn(yard)
    assert (status(yard, yard.first), status(yard, yard.second)) == ("treated", "unknown")
    code = lot_of(yard, yard.second)
    went = {d["destination_kind"] for d in drops(yard.routing()) if code in d["lot_codes"]}
    assert went == {"hold_bay"}
    assert yard.tip(yard.second, status=409)["code"] == "not_for_this_place"
    (told,) = decisions(yard, WORD)
    assert f"{code} lay in one body with {lot_of(yard, yard.first)} until" in told["sentence"]


def test_a_bed_that_got_what_lay_with_it_is_told_of_at_once(yard):
    yard.tip(yard.first, kind="hold_bay")
    yard.tip(yard.second)
    assert decisions(yard, "recall") == []
    learn(yard)
    (told,) = [one for one in decisions(yard, "recall") if one["destination_kind"] == "bed"]
    assert lot_of(yard, yard.second) in told["sentence"]


@pytest.mark.parametrize("seen", ["disease_seen", "litter_seen"])
def test_what_is_seen_of_one_later_counts_for_the_other(yard, seen):
    yard.tip(yard.second)
    yard.patch(f"/jobs/{yard.first}", {seen: True})
    assert status(yard, yard.first) == status(yard, yard.second) != "clean"


def test_what_lay_with_the_other_of_them_later_counts_as_well_and_what_lay_there_before_does_not(
    yard,
):
    early = yard.mow(yard.lawn("Early"), at="13:30")
    half = yard.tipped(early, at="2026-05-24T13:35:00+01:00")
    assert half.status_code == 201, half.text
    yard.tip(yard.first, kind="hold_bay")
    third = yard.mow(yard.lawn("Third"), at="14:08")
    yard.tip(yard.second, kind="hold_bay")
    learn(yard)
    assert [status(yard, job) for job in (yard.second, third, early)] == [
        "unknown",
        "unknown",
        "clean",
    ]
    assert words(yard, third) == [("unknown", lot_of(yard, yard.second))]
    assert words(yard, yard.first) == []


def test_what_was_kept_apart_by_the_offices_word_stays_as_it_is(yard):
    yard.tip(yard.first, kind="hold_bay")
    assert takes_back(yard, yard.second, **WHY).status_code == 200
    learn(yard)
    assert status(yard, yard.second) == "clean"


def test_what_left_together_is_mixed_in_its_load_and_needs_no_word(yard):
    yard.tip(yard.first, yard.second, kind="hold_bay")
    learn(yard)
    assert status(yard, yard.second) == "clean"
    assert yard.entries()[-1]["status"] in {"treated", "unknown"}


def test_what_was_learned_by_mistake_is_taken_back_of_both(yard):
    yard.tip(yard.first, kind="hold_bay")
    path = learn(yard)
    assert status(yard, yard.second) == "unknown"
    headers = {"If-Match": "*", "Change-Reason": "It was the neighbour's lawn."}
    assert yard.client.delete(path, headers=headers).status_code == 204
    assert (status(yard, yard.first), status(yard, yard.second)) == ("clean", "clean")
    assert decisions(yard, WORD) == []


def test_a_mistake_of_one_takes_nothing_back_of_what_lay_with_another_as_well(yard):
    third = yard.mow(yard.lawn("Third"), at="14:02")
    yard.tip(yard.first, kind="hold_bay")
    yard.tip(third, kind="hold_bay")
    paths = [learn(yard), learn(yard, third)]
    headers = {"If-Match": "*", "Change-Reason": "It was the neighbour's lawn."}
    assert yard.client.delete(paths[0], headers=headers).status_code == 204
    assert (status(yard, yard.second), status(yard, yard.first)) == ("unknown", "unknown")
    assert yard.client.delete(paths[1], headers=headers).status_code == 204
    assert {status(yard, job) for job in (yard.first, yard.second, third)} == {"clean"}


def test_what_is_learned_never_to_have_been_in_that_body_counts_for_nothing_there(yard):
    other = another_crew(yard)
    yard.tip(yard.second, kind="hold_bay")
    learn(yard)
    assert status(yard, yard.second) == "unknown"
    never = {"decision": "never_aboard", "vehicle_id": other["vehicle_id"]}
    decided = yard.client.post(f"/jobs/{yard.first}/decisions", json=never, headers=WHY)
    assert decided.status_code == 200, decided.text
    assert status(yard, yard.second) == "clean"


@pytest.mark.parametrize("late", ["clean", "treated"])
def test_a_cut_that_is_told_after_the_body_was_parted_was_mixed_with_what_left_it(yard, late):
    lawn = yard.lawn("Late")
    if late == "clean":
        learn(yard, yard.second)
    else:
        yard.treated(lawn)
    yard.tip(yard.second, kind="hold_bay")
    third = yard.mow(lawn, at="14:01")
    told = {job: status(yard, job) for job in (yard.second, third)}
    worse = {"clean": ("treated", "unknown"), "treated": ("unknown", "treated")}[late]
    assert (told[yard.second], told[third]) == worse


def test_what_a_place_meant_is_asked_before_it_counts_for_others(yard):
    half = {"job_id": yard.first, "share": 0.5}
    bed = {"destination_kind": "bed", "destination_id": yard.ids["beds"]}
    load = yard.say("tipped", **bed, parts=[half])
    yard.world.clock.move(minutes=5)
    yard.tip(yard.second)
    word = LotFinding(status=LotStatus.UNKNOWN, code=SAID, facts={OWN_WORDS: True, "load_id": "-"})
    with yard.world.open_unit_of_work() as unit:
        job = unit.jobs.get(yard.firm_id, UUID(yard.first))
        said = replace(job, findings=(word,), status=word.status)
        assert mixed_later(unit, [(job, said)], yard.world.clock.now()) == []
        meant = replace(word, facts={"load_id": "-"})
        known = replace(job, findings=(meant,), status=word.status)
        ((_, other),) = mixed_later(unit, [(job, known)], yard.world.clock.now())
    assert load
    assert (str(other.id), other.status) == (yard.second, LotStatus.UNKNOWN)
