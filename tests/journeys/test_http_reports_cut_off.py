"""A report is kept whole with its answer, or not at all: a retry hears what the first try did."""

from datetime import timedelta

import pytest

from service.core.errors import RecordsBusy
from service.storage.engine import make_engine
from service.storage.repositories.access import TableAnswers
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.records.held.load_held import LoadHeld
from tests.crews import aboard_kg, another_crew, drops
from tests.devices import CLEAN, Device
from tests.in_memory.callers import Answers
from tests.loading import Loading
from tests.worlds import make_world


class CutOffError(Exception):
    """The process was ended here."""


@pytest.fixture(params=["memory", "database"])
def device(request):
    """Yield a tablet whose firm is in memory, or in a database."""
    if request.param == "memory":
        yield Device()
        return
    engine = make_engine(request.getfixturevalue("sqlite_url"))
    yield Device(make_world(unit_of_work_opener(engine), reading_opener(engine)))
    engine.dispose()


def cut_off(monkeypatch, device, report):
    """Send a report, and be cut off when its answer is written down."""

    def ended(*_, **__):
        raise CutOffError

    with monkeypatch.context() as patch:
        for answers in (Answers, TableAnswers):
            patch.setattr(answers, "finish", ended)
        with pytest.raises(AssertionError, match="internal_error"):
            device.send(report)


def sent_again(monkeypatch, device, report):
    """Return the answer to a report whose first try was cut off."""
    cut_off(monkeypatch, device, report)
    (row,) = device.kept(report)
    return row


def undone(device, report):
    (row,) = device.kept(device.what("undo", "12:45", undoes=report["id"]))
    assert row["sentence"] == "Taken back."


def mown(device, name="Front", **fields):
    cut = device.what("mown", "12:10", lawn_id=device.lawn(name), **CLEAN, **fields)
    device.kept(cut)
    return cut["id"]


def test_lots_that_were_forked_over(device, monkeypatch):
    other, lot = another_crew(device)["vehicle_id"], mown(device)
    given = device.what("given", "12:40", to_vehicle_id=other)
    assert sent_again(monkeypatch, device, given)["sentence"] == "Forked over: 1 of the lots."
    assert device.client.get(f"/jobs/{lot}").json["vehicle_id"] == other
    undone(device, given)
    assert device.client.get(f"/jobs/{lot}").json["vehicle_id"] == device.ids["vehicles"]


def test_a_load_of_the_plan_that_was_tipped(device, monkeypatch):
    mown(device)
    (drop,) = drops(device.read())
    tipped = device.what("tipped", "12:40", load_id=drop["load_id"])
    assert sent_again(monkeypatch, device, tipped)["sentence"] == "Tipped, and on record."
    undone(device, tipped)
    assert device.load(drop["load_id"])["state"] == "planned"


def test_a_weight(device, monkeypatch):
    mown(device)
    device.kept(device.what("tipped", "12:40", **device.site()))
    net = {"value": 9, "unit": "kg"}
    weighed = device.what("weighed", "12:42", **device.site(), weighed_net=net, weigh_ticket="W-1")
    row = sent_again(monkeypatch, device, weighed)
    assert row["sentence"] == "The weight is on record."
    undone(device, weighed)
    assert device.load(row["load_id"])["weighed_net"] is None


def test_a_vehicle_that_is_out_and_back(device, monkeypatch):
    out = device.what("vehicle_out", "12:10", reason="Clutch.")
    row = sent_again(monkeypatch, device, out)
    assert row["sentence"] == "The office knows that the vehicle is out."
    back = device.what("vehicle_back", "12:20")
    row = sent_again(monkeypatch, device, back)
    assert row["sentence"] == "The office knows that it works again."
    undone(device, back)
    undo = device.what("undo", "12:50", undoes=out["id"])
    assert sent_again(monkeypatch, device, undo)["sentence"] == "Taken back."
    assert device.client.get("/vehicle-outages").json["items"] == []


def test_what_was_taken_back(device, monkeypatch):
    other, lot = another_crew(device)["vehicle_id"], mown(device)
    given = device.what("given", "12:40", to_vehicle_id=other)
    device.kept(given)
    undo = device.what("undo", "12:45", undoes=given["id"])
    assert sent_again(monkeypatch, device, undo)["sentence"] == "Taken back."
    again = device.what("undo", "12:46", undoes=given["id"])
    assert device.kept(again)[0]["sentence"] == "It was taken back already."
    history = device.client.get(f"/jobs/{lot}/history").json["items"]
    assert len([one for one in history if "vehicle_id" in one["changes"]]) == 2


def test_a_tip_that_was_cut_off_is_on_no_record_before_it_is_sent_again(device, monkeypatch):
    mown(device)
    cut_off(monkeypatch, device, device.what("tipped", "12:40", **device.site()))
    assert aboard_kg(device.read()) > 0
    assert device.client.get("/loads?state=delivered").json["items"] == []


def test_fresh_and_held_grass_is_forked_over_together_or_not_at_all(monkeypatch):
    yard = Loading()
    fresh = yard.mow(yard.lawn("Fresh"), at="12:20")
    yard.routing()
    yard.load()
    other = another_crew(yard)["vehicle_id"]

    def ended(*_, **__):
        raise CutOffError

    with monkeypatch.context() as patch:
        patch.setattr(LoadHeld, "forked_over", ended)
        with pytest.raises(AssertionError, match="internal_error"):
            yard.say("given", to_vehicle_id=other)
    assert yard.client.get(f"/jobs/{fresh}").json["vehicle_id"] == yard.ids["vehicles"]
    yard.checked()
    yard.count -= 1
    assert yard.say("given", to_vehicle_id=other)["sentence"] == "Forked over: 2 of the lots."


def begin_late(patch, answers, key, error):
    """Let an answer be found to be begun by a rival only when it is begun."""
    begin, get = answers.begin, answers.get

    def looked(own, firm_id, asked):
        return None if asked == key else get(own, firm_id, asked)

    def begun(own, answer):
        if answer.key == key and error is not None:
            raise error
        return begin(own, answer)

    patch.setattr(answers, "get", looked)
    patch.setattr(answers, "begin", begun)


@pytest.mark.parametrize("is_busy", [False, True])
def test_a_tip_that_was_kept_while_it_was_sent_again_is_not_remembered_as_refused(
    monkeypatch, device, is_busy
):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.ahead = timedelta(minutes=20)
    tip = device.what("tipped", "12:20", **device.site())
    (kept,) = device.kept(tip)
    # Its clock comes nearer to ours: what it sends again counts as later than what was kept.
    device.ahead = timedelta(minutes=16)

    with monkeypatch.context() as patch:
        for answers in (Answers, TableAnswers):
            begin_late(patch, answers, f"report {tip['id']}", RecordsBusy if is_busy else None)
        code = device.refused(tip)["code"]
    assert code == ("records_busy" if is_busy else "first_try_unfinished")
    if is_busy:
        device.kept(tip)
    weight = {"weighed_net": {"value": 40, "unit": "kg"}, "weigh_ticket": "W-1"}
    (weighed,) = device.kept(device.what("weighed", "12:28", **device.site(), **weight))
    assert weighed["load_id"] == kept["load_id"]
