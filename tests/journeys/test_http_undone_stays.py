"""What was undone never was: a lot that was not given, or loaded, lay with nothing there."""

import pytest

from tests.crews import another_crew
from tests.journeys.test_http_recall_mixed import Parted


@pytest.fixture
def yard():
    yard = Parted()
    yard.other = another_crew(yard)
    return yard


def mixed(yard, job):
    return {one["job_id"] for one in yard.traced(job)["mixed_with"]}


def undo(yard, report):
    yard.world.clock.move(minutes=5)
    yard.say("undo", undoes=report["id"])


def test_a_lot_that_was_not_given_after_all_lay_on_where_it_was(yard):
    there = yard.mow(yard.lawn("There"), at="13:45", **yard.other)
    into = {"to_vehicle_id": yard.other["vehicle_id"], "parts": [{"job_id": yard.first}]}
    given = yard.say("given", **into)
    assert there in mixed(yard, yard.first)
    undo(yard, given)
    later = yard.mow(yard.lawn("Later"), at="14:08")
    assert mixed(yard, yard.first) == {yard.second, later}
    assert mixed(yard, there) == set()


def test_what_came_into_the_other_body_after_the_undone_take_over_never_lay_with_it(yard):
    into = {"to_vehicle_id": yard.other["vehicle_id"], "parts": [{"job_id": yard.first}]}
    undo(yard, yard.say("given", **into))
    there = yard.mow(yard.lawn("There"), at="14:09", **yard.other)
    assert mixed(yard, there) == set()
    assert mixed(yard, yard.first) == {yard.second}


def test_what_was_not_loaded_after_all_lay_with_nothing_in_that_body(yard):
    held, entry = yard.job, yard.entries()[0]["id"]
    loaded = yard.say("loaded", hold_entry_id=entry)
    assert yard.second in mixed(yard, held)
    undo(yard, loaded)
    later = yard.mow(yard.lawn("Later"), at="14:08")
    assert mixed(yard, held) & {yard.first, yard.second, later} == set()
    assert held not in mixed(yard, later)


def test_what_another_vehicle_did_not_tip_after_all_was_never_in_its_body(yard):
    there = yard.mow(yard.lawn("There"), at="13:45", **yard.other)
    tip = yard.tipped(yard.first, kind="hold_bay", vehicle=yard.other["vehicle_id"])
    assert there in mixed(yard, yard.first)
    yard.world.clock.move(minutes=5)
    yard.patch(f"/loads/{tip.json['id']}", {"state": "planned"}, reason="It was the other load.")
    assert mixed(yard, yard.first) == {yard.second}
    assert mixed(yard, there) == set()
