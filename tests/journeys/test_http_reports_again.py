"""What is reported late, twice, by another than it is about, or taken back, overwrites nothing."""

from uuid import UUID

import pytest

from service.core.callers.access import Role
from service.core.errors import VersionOvertaken
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_jobs import RecordJobs
from tests.crews import NOW, aboard_kg, another_crew, drops
from tests.devices import CLEAN, ENOUGH, Device
from tests.worlds import make_world


@pytest.fixture
def device_of_a_database(sqlite_url):
    """Yield a tablet of a firm whose history has been written down and read again."""
    engine = make_engine(sqlite_url)
    yield Device(make_world(unit_of_work_opener(engine), reading_opener(engine)))
    engine.dispose()


def as_crew(device):
    """Let the tablet send with a key of its crew alone; return the office's client."""
    with device.world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
    office = device.client
    device.client = device.world.client(firm.id, Role.CREW, crew_id=device.ids["crews"])
    return office


def job_of(device, job_id):
    return device.client.get(f"/jobs/{job_id}").json


def test_what_the_gate_turned_away_is_not_the_load_that_it_took_before(device):
    device.kept(device.what("mown", "12:05", lawn_id=device.lawn("Front"), **CLEAN))
    (taken,) = device.kept(device.what("tipped", "12:15", **device.site()))
    device.kept(device.what("mown", "12:30", lawn_id=device.lawn("Back"), **CLEAN))
    (sent,) = device.kept(device.what("refused", "12:40", **device.site(), reason="Too wet."))
    assert sent["load_id"] != taken["load_id"]
    assert device.load(taken["load_id"])["state"] == "delivered"
    assert device.load(sent["load_id"])["state"] == "refused"


@pytest.mark.parametrize("minute", ["12:38", "12:40", "12:45"])
@pytest.mark.parametrize("kind", ["part_taken", "refused"])
def test_what_gate_and_crew_tell_of_one_load_is_one(device, kind, minute):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    share = {"refused_share": 0.5} if kind == "part_taken" else {}
    first_why, other_why = ({"reason": why} for why in ("Full", "No room"))
    site = {**device.site(), **share}
    device.later(hours=1)
    (first,) = device.kept(device.what(kind, "12:40", **site, **first_why))
    ticket = {"weighed_net": {"value": 10, "unit": "kg"}, "weigh_ticket": "HG1"}
    ticket = {} if kind == "refused" else ticket
    twice = device.what(kind, minute, **site, **other_why, **ticket)
    (row,) = device.kept(twice)
    assert row["load_id"] == first["load_id"]
    (again,) = device.kept(device.what(kind, minute, **site, **other_why, **ticket))
    assert again["load_id"] == first["load_id"]
    assert "on record already" in again["sentence"]
    kept = device.load(first["load_id"])
    assert kept["refusal_reason"] == first_why.get("reason")
    assert kept["weigh_ticket"] == ticket.get("weigh_ticket")
    ended = device.client.get("/loads").json["items"]
    assert [one["id"] for one in ended if one["state"] == kept["state"]] == [first["load_id"]]


@pytest.mark.parametrize("kind", ["part_taken", "refused"])
def test_what_the_second_saw_in_the_grass_is_no_repeat_and_acts(device, kind):
    (cut,) = device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    site = {**device.site(), **({"refused_share": 0.5} if kind == "part_taken" else {})}
    device.later(hours=1)
    device.kept(device.what(kind, "12:40", **site, reason="full"))
    device.kept(device.what(kind, "12:44", **site, reason="litter"))
    assert job_of(device, cut["job_id"])["status"] == "littered"


def test_what_is_sent_away_with_another_lot_is_no_repeat(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.later(hours=1)
    (first,) = device.kept(device.what("refused", "12:30", **device.site(), reason="full"))
    device.kept(device.what("mown", "12:35", lawn_id=device.lawn("Back"), **CLEAN))
    (then,) = device.kept(device.what("refused", "12:44", **device.site(), reason="full"))
    assert then["load_id"] != first["load_id"]
    assert len(device.load(then["load_id"])["parts"]) == 2


def test_a_part_of_the_rest_with_a_ticket_of_its_own_or_later_is_another(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.later(hours=2)
    part = {**device.site(), "refused_share": 0.5, "reason": "Full"}

    def weighed(ticket):
        return {"weighed_net": {"value": 10, "unit": "kg"}, "weigh_ticket": ticket}

    rows = [
        device.kept(device.what("part_taken", at, **part, **weighed(ticket)))[0]
        for at, ticket in (("12:40", "HG1"), ("12:45", "HG2"))
    ]
    rows += device.kept(device.what("part_taken", "13:30", **part))
    assert len({row["load_id"] for row in rows}) == 3


def test_an_older_refusal_that_comes_late_does_not_overrule_what_was_said_since(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    (drop,) = drops(device.read())
    load = f"/loads/{drop['load_id']}"
    device.later(hours=1)
    said = {"state": "delivered", "done_at": "2026-05-24T12:30:00Z"}
    assert device.client.patch(load, json=said, headers=NOW).status_code == 200
    late = device.what("refused", "12:35", load_id=drop["load_id"], reason="Too wet.")
    problem = device.refused(late)
    assert problem["code"] == "ended_since"
    assert "take back" in problem["detail"]
    assert device.client.get(load).json["state"] == "delivered"
    # Who knows better says so of a later hour, or after what was wrong was taken back.
    assert device.client.patch(load, json={"state": "planned"}, headers=NOW).status_code == 200
    device.kept(late)
    assert device.client.get(load).json["state"] == "refused"


def test_the_undo_of_a_repeat_takes_nothing_of_anybody_else_back(device):
    outage = {
        "vehicle_id": device.ids["vehicles"],
        "out_since": "2026-05-24T11:20:00Z",
        "reason": "Gearbox",
    }
    device.post("/vehicle-outages", outage)
    repeat = device.what("vehicle_out", "12:35", reason="Gearbox")
    device.kept(repeat)
    undo = device.what("undo", "12:40", undoes=repeat["id"])
    assert device.refused(undo)["code"] == "not_undone"
    assert len(device.client.get("/vehicle-outages").json["items"]) == 1


def test_an_undo_under_two_ids_takes_back_once(device):
    lawn = device.lawn("Front")
    planned = device.plan_to_mow(lawn)
    mown = device.what("mown", "12:10", lawn_id=lawn, **CLEAN)
    device.kept(mown, device.what("undo", "12:20", undoes=mown["id"]))
    (again,) = device.kept(device.what("undo", "12:21", undoes=mown["id"]))
    assert again["sentence"] == "It was taken back already."
    assert job_of(device, planned)["state"] == "planned"
    # Nor does it take back what was reported since.
    device.kept(device.what("mown", "12:25", lawn_id=lawn, **CLEAN))
    first = device.what("tipped", "12:30", **device.site())
    (row,) = device.kept(first)
    device.kept(device.what("undo", "12:35", undoes=first["id"]))
    load = {"load_id": row["load_id"]}
    device.kept(device.what("tipped", "12:40", **load))
    device.kept(device.what("undo", "12:45", undoes=first["id"]))
    assert device.load(row["load_id"])["state"] == "delivered"


def test_a_cut_that_is_taken_back_leaves_the_planned_job_as_it_was_planned(device_of_a_database):
    device = device_of_a_database
    lawn = device.lawn("Front")
    planned = device.plan_to_mow(lawn)
    before = job_of(device, planned)
    mistake = {
        "area_mowed": {"value": 7, "unit": "m2"},
        "height_removed": {"value": 90, "unit": "mm"},
        "measured_mass": {"value": 600, "unit": "kg"},
        "litter_seen": True,
    }
    for way in ({"lawn_id": lawn}, {"job_id": planned}):
        mown = device.what("mown", "12:10", **way, **mistake)
        device.kept(mown)
        assert job_of(device, planned)["area_mowed"]["value"] == 7
        device.kept(device.what("undo", "12:20", undoes=mown["id"]))
        after = job_of(device, planned)
        moved = {name for name in before if before[name] != after[name]}
        assert moved <= {"version", "updated_at"}, {n: (before[n], after[n]) for n in moved}


def test_a_tip_that_names_a_cut_and_what_may_be_the_same_cut_is_of_one_lot(device):
    lawn = device.lawn("Front")
    one = device.what("mown", "12:10", lawn_id=lawn, **CLEAN)
    two = device.what("mown", "12:12", lawn_id=lawn, **CLEAN, minutes_on_site=30)
    rows = device.kept(one, two)
    assert job_of(device, rows[1]["job_id"])["state"] == "possible_duplicate"
    parts = [{"job_id": row["job_id"]} for row in rows]
    (row,) = device.kept(device.what("tipped", "12:30", **device.site(), parts=parts))
    assert [part["job_id"] for part in device.load(row["load_id"])["parts"]] == [rows[0]["job_id"]]
    device.later()
    assert aboard_kg(device.read()) == 0


def test_a_cut_of_today_takes_no_area_of_what_is_planned_for_tomorrow(device):
    lawn = device.lawn("Front")
    height = {"height_removed": ENOUGH["height_removed"]}
    tomorrow = device.plan_to_mow(lawn, planned_at="2026-05-25T09:00:00+01:00")
    (row,) = device.kept(device.what("mown", "12:10", lawn_id=lawn, **height))
    whole = device.client.get(f"/lawns/{lawn}").json["area"]["value"]
    assert job_of(device, row["job_id"])["area_mowed"]["value"] == whole
    assert job_of(device, tomorrow)["state"] == "planned"


def test_a_crew_says_of_its_own_vehicle_alone_that_it_is_out_and_back(device):
    other = another_crew(device)["vehicle_id"]
    device.patch(f"/crews/{device.ids['crews']}", {"vehicle_id": device.ids["vehicles"]})
    office = as_crew(device)
    stray = device.what("vehicle_out", "12:30", vehicle_id=other, reason="Gearbox")
    (fault,) = device.refused(stray)["errors"]
    assert (fault["pointer"], fault["code"]) == ("/vehicle_id", "not_own")
    assert "the other crew or the office" in fault["detail"]
    assert office.get("/vehicle-outages").json["items"] == []
    back = device.what("vehicle_back", "12:31", vehicle_id=other)
    assert device.refused(back)["errors"][0]["code"] == "not_own"
    out = device.what("vehicle_out", "12:32", reason="Gearbox")
    back = device.what("vehicle_back", "12:40")
    device.kept(out, back)
    (outage,) = office.get("/vehicle-outages").json["items"]
    assert outage["back_at"] == "2026-05-24T11:40:00Z"
    device.kept(device.what("undo", "12:41", undoes=back["id"]))
    device.kept(device.what("undo", "12:42", undoes=out["id"]))
    assert office.get("/vehicle-outages").json["items"] == []


def test_a_report_that_meets_another_hand_on_the_record_is_tried_once_more(device, monkeypatch):
    planned = device.plan_to_mow(device.lawn("Front"))
    amend, meetings = RecordJobs.amend, []

    def met(self, caller, job_id, changes, **how):
        job = amend(self, caller, job_id, changes, **how)
        if not meetings:
            meetings.append(job_id)
            raise VersionOvertaken(record="job", current=2, expected=1)
        return job

    monkeypatch.setattr(RecordJobs, "amend", met)
    device.kept(device.what("mown", "12:10", job_id=planned, **CLEAN))
    job = job_of(device, planned)
    assert (job["state"], job["version"]) == ("mown", 2)


def test_a_tip_whose_refusal_meets_another_hand_is_kept_once(device, monkeypatch):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    update, met_first = UpdateLoad.__call__, []

    def met(self, caller, load_id, changes, **how):
        if not met_first:
            met_first.append(load_id)
            raise VersionOvertaken(record="load", current=2, expected=1)
        return update(self, caller, load_id, changes, **how)

    monkeypatch.setattr(UpdateLoad, "__call__", met)
    (row,) = device.kept(device.what("refused", "12:40", **device.site(), reason="Too wet."))
    assert [row["load_id"]] == [str(load_id) for load_id in met_first]
    (load,) = device.client.get("/loads").json["items"]
    assert (load["id"], load["state"]) == (row["load_id"], "refused")


def test_lots_are_forked_over_together_or_not_at_all(device):
    other = another_crew(device)["vehicle_id"]
    mown = device.what("mown", lawn_id=device.lawn("Front"), **CLEAN)
    device.kept(mown)
    parts = [{"job_id": mown["id"]}, {"job_id": str(UUID(int=7))}]
    given = device.what("given", "12:40", to_vehicle_id=other, parts=parts)
    assert device.refused(given)["code"] == "record_missing"
    assert job_of(device, mown["id"])["vehicle_id"] == device.ids["vehicles"]
    # Sent again after it was kept by somebody, nothing is given, and nothing is taken back.
    given = device.what("given", "12:41", to_vehicle_id=other, parts=parts[:1])
    again = device.what("given", "12:42", to_vehicle_id=other, parts=parts[:1])
    device.kept(given, again)
    undo = device.what("undo", "12:43", undoes=again["id"])
    assert device.refused(undo)["code"] == "not_undone"
    assert job_of(device, mown["id"])["vehicle_id"] == other


def forked_over(device, at):
    """Mow a lot with each of two vehicles, and fork the other's over at an hour; return both."""
    others = another_crew(device)
    own = device.what("mown", "12:10", lawn_id=device.lawn("Own"), **CLEAN)
    theirs = device.what("mown", "12:15", lawn_id=device.lawn("Theirs"), **CLEAN, **others)
    given = device.what("given", at, to_vehicle_id=device.ids["vehicles"], **others)
    device.later(minutes=45)
    device.kept(own, theirs, given | {"parts": [{"job_id": theirs["id"]}]})
    return own["id"], theirs["id"]


def tipped_lots(device, report):
    (row,) = device.kept(report)
    return {part["job_id"] for part in device.load(row["load_id"])["parts"]}


def test_a_tip_takes_up_nothing_that_was_forked_over_after_it(device):
    own, theirs = forked_over(device, "12:40")
    early = device.what("tipped", "12:30", **device.site(), parts=[{"job_id": theirs}])
    (fault,) = device.refused(early)["errors"]
    assert "12:40" in fault["detail"]
    assert tipped_lots(device, device.what("tipped", "12:30", **device.site())) == {own}
    assert tipped_lots(device, device.what("tipped", "12:45", **device.site())) == {theirs}


def test_where_a_forking_over_is_taken_back_the_one_before_it_holds_at_its_hour(device):
    second, third = another_crew(device), another_crew(device)
    lot = device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN)
    first = device.what("given", "12:30", to_vehicle_id=second["vehicle_id"])
    on = device.what("given", "12:40", to_vehicle_id=third["vehicle_id"], **second)
    device.later(minutes=45)
    parts = {"parts": [{"job_id": lot["id"]}]}
    device.kept(lot, first | parts, on | parts)
    device.kept(device.what("undo", "12:44", undoes=on["id"]))
    early = device.what("tipped", "12:20", **device.site(), **second, **parts)
    (fault,) = device.refused(early)["errors"]
    assert "12:30" in fault["detail"]
    # The first taken back as well, it never was in another body than that it was cut into.
    device.kept(device.what("undo", "12:44", undoes=first["id"]))
    assert tipped_lots(device, device.what("tipped", "12:20", **device.site())) == {lot["id"]}


def test_a_load_planned_with_what_was_forked_over_was_not_tipped_before_with_it(device):
    own, theirs = forked_over(device, "12:40")
    (drop,) = drops(device.read())
    assert len(drop["lot_codes"]) == 2
    done = {"state": "delivered", "done_at": "2026-05-24T12:30:00+01:00"}
    problem = device.patch(f"/loads/{drop['load_id']}", done, status=422)
    assert "forked over (12:40)" in problem["errors"][0]["detail"]
    early = device.what("tipped", "12:30", load_id=drop["load_id"])
    assert tipped_lots(device, early) == {own}
    history = device.client.get(f"/jobs/{theirs}/history").json["items"]
    assert history[-1]["changes"]["taken_over_at"]["became"] == "2026-05-24T11:40:00+00:00"


def test_a_tip_takes_up_what_was_forked_over_before_it_though_that_is_told_late(device):
    lots = forked_over(device, "12:25")
    assert tipped_lots(device, device.what("tipped", "12:30", **device.site())) == set(lots)


def test_what_lies_there_already_is_reported_again_with_its_reason_as_the_refusal_says():
    device = Device()
    front = device.what("mown", "12:10", lawn_id=device.lawn("Front"), litter_seen=True, **CLEAN)
    device.kept(front)
    bed = {"destination_kind": "bed", "destination_id": device.ids["beds"]}
    tipped = device.what("tipped", "12:30", **bed)
    problem = device.refused(tipped)
    assert problem["code"] == "not_for_this_place"
    assert "or a report with its reason: it is kept" in problem["detail"]
    device.kept({**tipped, "reason": "It was tipped before anybody looked."})


def test_a_weight_of_what_was_sent_away_is_kept_and_the_next_place_gets_its_own(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.later(hours=2)
    high_kg = aboard_kg(device.read())
    weighed = {"weighed_net": {"value": round(high_kg), "unit": "kg"}, "weigh_ticket": "HG1"}
    (sent,) = device.kept(
        device.what("refused", "12:40", **device.site(), reason="Full", **weighed)
    )
    kept = device.load(sent["load_id"])
    assert (kept["state"], kept["weigh_ticket"], kept["weight_counts"]) == ("refused", "HG1", True)
    assert aboard_kg(device.read()) == high_kg
    part = {**device.site(), "reason": "Full", "weigh_ticket": "HG2"}
    half = {"value": kept["mass_kg"]["likely"] / 2, "unit": "kg"}
    (taken,) = device.kept(device.what("part_taken", "13:10", **part, weighed_net=half))
    assert device.load(taken["load_id"])["refused_share"] == pytest.approx(0.5, abs=1e-3)


@pytest.mark.parametrize("is_sent_before", [True, False])
@pytest.mark.parametrize("hour", ["12:25", "12:40"])
@pytest.mark.parametrize("where", ["there", "elsewhere"])
def test_a_tip_is_taken_back_and_told_with_its_true_hour_in_one_batch(
    device, is_sent_before, hour, where
):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    device.later(hours=1)
    bay = {"destination_kind": "hold_bay", "destination_id": device.ids["hold-bays"]}
    wrong = device.what("tipped", "12:30", **device.site())
    right = device.what("tipped", hour, **(device.site() if where == "there" else bay))
    undo = device.what("undo", "12:50", undoes=wrong["id"])
    if is_sent_before:
        device.kept(wrong)
        device.kept(right, undo)
    elif hour > "12:30":
        device.kept(right, undo, wrong)
    else:
        # Of two tips that nobody has sent yet the earlier is that of the grass.
        device.send(right, undo, wrong)
    ended = [one for one in device.client.get("/loads").json["items"] if one["done_at"]]
    (tip,) = [one for one in ended if one["state"] == "delivered"]
    assert tip["done_at"] == f"2026-05-24T{int(hour[:2]) - 1}{hour[2:]}:00Z"
    assert tip["destination_kind"] == ("compost_site" if where == "there" else "hold_bay")
    assert aboard_kg(device.read()) == 0
