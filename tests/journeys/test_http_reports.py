"""What happened in the field, in one request: each report once, in the order it happened."""

from datetime import timedelta
from uuid import UUID

import pytest

from service.documents.rendering.reader import Reader
from tests.crews import aboard_kg, another_crew, drops
from tests.devices import CLEAN
from tests.outages import lots


def test_a_day_is_reported_at_once_and_happens_in_its_order(device):
    lawn = device.lawn("Front")
    planned = device.plan_to_mow(lawn)
    weight = {"weighed_net": {"value": 40, "unit": "kg"}, "weigh_ticket": "W-1"}
    rows = device.kept(
        device.what("weighed", "12:50", **device.site(), **weight),
        device.what("tipped", "12:40", **device.site()),
        device.what("mown", "12:10", lawn_id=lawn, **CLEAN),
        device.what("left", "12:20", lawn_id=device.lawn("Back"), **CLEAN),
    )
    assert [row["index"] for row in rows] == [2, 3, 1, 0]
    mown, left, tipped, weighed = rows
    assert mown["job_id"] == planned
    assert device.client.get(f"/jobs/{left['job_id']}").json["clippings"] == "left"
    load = device.load(tipped["load_id"])
    assert weighed["load_id"] == load["id"]
    assert [part["job_id"] for part in load["parts"]] == [planned]
    assert load["weighed_net"]["value"] == 40
    assert load["done_at"] == "2026-05-24T11:40:00Z"
    device.later()
    assert aboard_kg(device.read()) == 0


def test_a_batch_that_is_sent_again_or_overlaps_adds_nothing(device):
    one = device.what("mown", lawn_id=device.lawn("Front"), **CLEAN)
    two = device.what("tipped", "12:40", **device.site())
    three = device.what("mown", "12:45", lawn_id=device.lawn("Back"), **CLEAN)
    first = device.kept(one, two)
    device.later()
    assert device.kept(one, two) == first
    assert device.kept(two, three)[0] | {"index": 1} == first[1]
    assert len(device.client.get("/jobs").json["items"]) == 2
    assert len(device.client.get("/loads").json["items"]) == 1
    assert device.refused(one | {"remarks": "Other."})["code"] == "idempotency_key_reused"


def test_a_bad_report_spoils_no_other_and_is_taken_once_it_can_be(device):
    tip = device.what("tipped", "12:40", **device.site())
    bad = {"id": tip["id"], "kind": "tapped"}
    rows = device.send(bad, device.what("vehicle_out", reason="Tyre"), tip)["reports"]
    by_index = {row["index"]: row for row in rows}
    assert [by_index[n]["status"] for n in range(3)] == [422, 200, 409]
    assert {e["pointer"] for e in by_index[0]["problem"]["errors"]} >= {"/kind", "/at"}
    assert by_index[2]["problem"]["code"] == "nothing_aboard"
    # The cut came later than the tip of it: now the tip is taken as it was sent.
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN), tip)


@pytest.mark.parametrize("hours", [2, -3])
def test_a_clock_hours_off_is_seen_told_and_corrected(device, hours):
    device.ahead = timedelta(hours=hours)
    told = device.send(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    assert told["clock"]["corrected"] is True
    assert told["clock"]["ahead_s"] == hours * 3600
    way = "2 h ahead" if hours > 0 else "3 h behind"
    assert way in told["clock"]["sentence"]
    (row,) = told["reports"]
    assert row["at"] == "2026-05-24T11:10:00Z"
    assert device.client.get(f"/jobs/{row['job_id']}").json["cut_at"] == "2026-05-24T11:10:00Z"


@pytest.mark.parametrize("hours", [26, -3])
def test_what_was_kept_by_a_wrong_clock_is_kept_once_that_is_mended(device, hours):
    device.ahead = timedelta(hours=hours)
    cut = device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN)
    tip = device.what("tipped", "12:20", **device.site())
    first = device.kept(cut, tip)
    device.ahead = timedelta()
    device.later()
    assert device.kept(cut, tip) == first
    assert [row["at"] for row in first] == ["2026-05-24T11:10:00Z", "2026-05-24T11:20:00Z"]
    (fresh,) = device.send(device.what("mown", "18:10", lawn_id=device.lawn("Back"), **CLEAN))[
        "reports"
    ]
    assert fresh["status"] == 422


@pytest.mark.parametrize("language", ["en", "es", "pl", "fr", "ro", "pt"])
def test_a_crew_reads_in_its_language_what_to_do_about_a_report_that_was_refused(device, language):
    device.client.environ_base["HTTP_ACCEPT_LANGUAGE"] = language
    one = device.what("mown", lawn_id=device.lawn("Front"), **CLEAN)
    device.kept(one)
    (row,) = device.send(one | {"remarks": "Other."})["reports"]
    assert row["sentence"] == Reader(language).table("refusal")["idempotency_key_reused"]
    assert "Idempotency-Key" not in row["problem"]["detail"]


def test_a_clock_a_minute_off_is_left_as_it_is(device):
    device.ahead = timedelta(minutes=1)
    clock = device.send(device.what("vehicle_back"))["clock"]
    assert clock == {"ahead_s": 60, "corrected": False, "sentence": None}


def test_the_id_of_a_load_that_was_superseded_leads_to_its_successor(device):
    lawn = device.lawn("Front")
    device.kept(device.what("mown", lawn_id=lawn, **CLEAN))
    (old,) = drops(device.read())
    device.later()
    device.kept(device.what("mown", "13:02", lawn_id=device.lawn("Back"), **CLEAN))
    (new,) = drops(device.read())
    assert new["load_id"] != old["load_id"]
    device.later()
    (row,) = device.kept(device.what("tipped", "13:05", load_id=old["load_id"]))
    assert row["load_id"] == new["load_id"]
    assert device.load(new["load_id"])["state"] == "delivered"


def test_a_load_that_no_plan_has_any_more_is_a_tip_off_the_plan(device):
    device.kept(device.what("mown", lawn_id=device.lawn("Front"), **CLEAN))
    (old,) = drops(device.read())
    assert old["destination_kind"] == "bed"
    device.later()
    device.patch(f"/beds/{device.ids['beds']}", {"consent": {"state": "refused"}})
    device.read()
    device.later()
    (row,) = device.kept(device.what("tipped", "13:05", load_id=old["load_id"], **device.site()))
    load = device.load(row["load_id"])
    assert (load["plan_id"], load["destination_kind"]) == (None, "compost_site")
    assert device.load(old["load_id"])["state"] == "superseded"
    # To a place that may not have it: told with the way on, and kept once somebody says why.
    littered = {**CLEAN, "litter_seen": True}
    another = device.what("mown", "13:06", lawn_id=device.lawn("Back"), **littered)
    device.later(minutes=20)
    device.kept(another)
    bed = {"destination_kind": "bed", "destination_id": device.ids["beds"]}
    assert device.refused(device.what("tipped", "13:10", **bed))["code"] == "not_for_this_place"
    device.kept(device.what("tipped", "13:10", **bed, reason="The client was there."))


WEIGHED = {"weighed_net": {"value": 20, "unit": "kg"}}


def two_tips(device):
    """Return a day's reports without a signal: twice two cuts and a tip; one load is planned."""
    lawns = [device.lawn(f"Lawn {at}") for at in ("09:05", "09:35", "10:05", "10:35")]
    jobs = [device.plan_to_mow(lawn, at="13:30") for lawn in lawns]
    plan = device.read()
    device.later(hours=2)
    cuts = [
        device.what("mown", at, job_id=job)
        for at, job in zip(("13:05", "13:15", "13:45", "13:55"), jobs, strict=True)
    ]
    (drop,) = drops(plan)
    place = {name: drop[name] for name in ("destination_kind", "destination_id")}
    first, second = (
        device.what("tipped", at, **place, **WEIGHED, weigh_ticket=f"W {at}")
        for at in ("13:30", "14:30")
    )
    return drop, [*cuts[:2], first, *cuts[2:], second]


def assert_two_loads_of_two(device, rows):
    loads = [device.load(row["load_id"]) for row in rows if row["load_id"]]
    assert [len(load["parts"]) for load in loads] == [2, 2]
    assert [load["weigh_ticket"] for load in loads] == ["W 13:30", "W 14:30"]
    assert not {p["job_id"] for p in loads[0]["parts"]} & {p["job_id"] for p in loads[1]["parts"]}
    assert aboard_kg(device.read()) == 0


def test_a_crew_that_tips_twice_where_one_load_was_planned_has_both_with_their_tickets(device):
    _, reports = two_tips(device)
    rows = device.kept(*reports)
    assert_two_loads_of_two(device, rows)
    assert "No plan sent it there" not in rows[-1]["sentence"]


def test_a_crew_that_names_the_planned_load_at_its_second_tip_has_what_was_aboard_by_then(device):
    drop, reports = two_tips(device)
    reports[-1]["load_id"] = drop["load_id"]
    assert_two_loads_of_two(device, device.kept(*reports))


def test_a_gate_that_turns_the_second_of_two_tips_away_turns_away_what_was_aboard(device):
    _, reports = two_tips(device)
    reports[-1] |= {"kind": "refused", "reason": "Full.", "weighed_net": None, "weigh_ticket": None}
    *_, row = device.kept(*reports)
    load = device.load(row["load_id"])
    assert (load["state"], len(load["parts"])) == ("refused", 2)
    assert aboard_kg(device.read()) > 0


def test_who_reports_a_cut_after_the_tip_it_was_in_is_told_and_says_so(device):
    front = device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN)
    late = device.what("mown", "12:15", lawn_id=device.lawn("Back"), **CLEAN)
    first, tip = device.kept(front, device.what("tipped", "12:30", **device.site()))
    assert first["warnings"] == []
    device.later()
    (row,) = device.kept(late)
    assert "before the tip at" in row["sentence"]
    assert "of 12:30, which is on record without it: it counts as aboard" in row["sentence"]
    again = device.what("tipped", "12:30", **device.site(), parts=[{"job_id": row["job_id"]}])
    (kept,) = device.kept(again)
    assert kept["load_id"] != tip["load_id"]
    assert aboard_kg(device.read()) == 0


def test_what_the_gate_turned_away_is_aboard_and_a_part_stays_there(device):
    device.kept(device.what("mown", lawn_id=device.lawn("Front"), **CLEAN))
    reason = {"reason": "Too wet."}
    sent = device.what("refused", "12:40", **device.site(), **reason)
    (row,) = device.kept(sent)
    assert device.load(row["load_id"])["state"] == "refused"
    device.later()
    assert aboard_kg(device.read()) > 0
    part = {"refused_share": 0.25, **device.site(), **reason}
    (row,) = device.kept(device.what("part_taken", "13:00", **part))
    load = device.load(row["load_id"])
    assert (load["state"], load["refused_share"]) == ("partly_refused", 0.25)
    # All of it was brought elsewhere: nothing is aboard, and nothing is to be fetched.
    (drop,) = drops(device.read())
    assert "turned_away" in warned(device)
    device.later()
    device.kept(device.what("tipped", "13:09", load_id=drop["load_id"]))
    assert aboard_kg(device.read()) == 0
    assert "turned_away" not in warned(device)


def warned(device):
    return {warning["code"] for warning in device.read()["routing"]["warnings"]}


def test_lots_that_were_forked_over_are_aboard_the_other_vehicle(device):
    other = another_crew(device)["vehicle_id"]
    mown = device.what("mown", lawn_id=device.lawn("Front"), **CLEAN)
    given = device.what("given", "12:40", to_vehicle_id=other)
    device.kept(mown, given)
    assert device.client.get(f"/jobs/{mown['id']}").json["vehicle_id"] == other
    device.kept(device.what("undo", "12:45", undoes=given["id"]))
    assert device.client.get(f"/jobs/{mown['id']}").json["vehicle_id"] == device.ids["vehicles"]


def test_a_crew_reports_its_own_breakdown_once_and_that_it_works_again(device):
    out = device.what("vehicle_out", "12:30", reason="Gearbox")
    (row,) = device.kept(out)
    device.kept(device.what("vehicle_out", "12:35", reason="It is the gearbox"))
    assert [o["id"] for o in device.client.get("/vehicle-outages").json["items"]] == [
        row["vehicle_outage_id"]
    ]
    device.kept(device.what("vehicle_back", "12:50"))
    (outage,) = device.client.get("/vehicle-outages").json["items"]
    assert outage["back_at"] == "2026-05-24T11:50:00Z"
    device.kept(device.what("vehicle_back", "12:55"))


def test_every_report_can_be_taken_back(device):
    lawn = device.lawn("Front")
    planned = device.plan_to_mow(lawn)
    weight = {"weighed_net": {"value": 40, "unit": "kg"}, "weigh_ticket": "W-1"}
    mown = device.what("mown", "12:10", lawn_id=lawn, **CLEAN)
    tip = device.what("tipped", "12:20", **device.site())
    weighed = device.what("weighed", "12:30", **device.site(), **weight)
    out = device.what("vehicle_out", "12:40", reason="Tyre")
    rows = device.kept(mown, tip, weighed, out)
    load = f"/loads/{rows[1]['load_id']}"
    device.kept(device.what("undo", "12:50", undoes=out["id"]))
    assert device.client.get("/vehicle-outages").json["items"] == []
    device.kept(device.what("undo", "12:50", undoes=weighed["id"]))
    assert device.client.get(load).json["weighed_net"] is None
    # What is tipped was mown: taking back the cut first is refused, in words that lead on.
    undo = device.what("undo", "12:51", undoes=mown["id"])
    problem = device.refused(undo)
    site = device.client.get(f"/compost-sites/{device.ids['compost-sites']}").json["name"]
    assert problem["code"] == "tipped_since"
    assert f"12:20, {site}" in problem["detail"]
    assert "take back the tip first, then the cut" in problem["detail"]
    assert "%" not in problem["detail"]
    device.kept(device.what("undo", "12:52", undoes=tip["id"]))
    device.kept(undo)
    job = device.client.get(f"/jobs/{planned}").json
    assert (job["state"], job["reported_as_id"]) == ("planned", None)
    # Mown after all, it is reported anew.
    assert device.kept(device.what("mown", "12:55", lawn_id=lawn, **CLEAN))[0]["job_id"] == planned


def test_what_is_on_record_otherwise_is_told_with_the_way_on(device):
    device.kept(device.what("mown", lawn_id=device.lawn("Front"), **CLEAN))
    (drop,) = drops(device.read())
    load = {"load_id": drop["load_id"]}
    device.later()
    device.kept(device.what("refused", "12:40", **load, reason="Too wet."))
    problem = device.refused(device.what("tipped", "12:45", **load))
    assert problem["code"] == "ended_otherwise"
    assert "say why in reason" in problem["detail"]
    device.kept(device.what("tipped", "12:45", **load, reason="They took it after all."))
    assert lots(device.read())


def places(problem):
    return [error["pointer"] for error in problem["errors"]]


def test_a_report_is_told_all_that_is_wrong_with_it_at_once(device):
    nobody = str(UUID(int=7))
    taken = device.what("part_taken", "19:30", lawn_id=nobody, crew_id=nobody)
    told = ["/at", "/crew_id", "/destination_id", "/lawn_id", "/reason", "/refused_share"]
    assert sorted(places(device.refused(taken))) == told
    # What cannot be read hides nothing else, and is not asked for once more.
    unreadable = {**taken, "refused_share": 4, "destination_id": "the site", "wet": True}
    assert sorted(places(device.refused(unreadable))) == sorted([*told, "/wet"])
    fields = {"job_id": "J", "minutes_on_site": 0, "to_vehicle_id": nobody}
    assert sorted(places(device.refused(device.what("mown", **fields)))) == sorted(
        f"/{name}" for name in fields
    )
    body = {"reports": [device.what("vehicle_out")]}
    body |= {"device": "tablet-3", "sent_at": device.world.clock.now().isoformat()}
    (row,) = device.client.post("/reports", json=body).json["reports"]
    assert sorted(places(row["problem"])) == ["/reason", "/vehicle_id"]


def test_a_refusal_without_its_reason_leaves_no_tip_behind(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    assert places(device.refused(device.what("refused", **device.site()))) == ["/reason"]
    assert device.client.get("/loads").json["items"] == []


def _ticket(number, kg=40):
    return {"weighed_net": {"value": kg, "unit": "kg"}, "weigh_ticket": number}


def test_a_second_ticket_never_takes_the_place_of_the_first_in_silence(device):
    device.kept(
        device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN),
        device.what("tipped", "12:20", **device.site()),
    )
    (row,) = device.kept(device.what("weighed", "12:25", **device.site(), **_ticket("T-6")))
    device.kept(device.what("weighed", "12:26", **device.site(), **_ticket("T-6")))
    problem = device.refused(device.what("weighed", "12:27", **device.site(), **_ticket("T-5")))
    assert problem["code"] == "weighed_otherwise"
    assert "T-6" in problem["detail"]
    assert device.load(row["load_id"])["weigh_ticket"] == "T-6"
    why = {"reason": "The gate printed it anew."}
    device.kept(device.what("weighed", "12:28", **device.site(), **_ticket("T-5"), **why))
    assert device.load(row["load_id"])["weigh_ticket"] == "T-5"


def test_a_weight_of_which_nobody_knows_the_tip_is_asked_for_its_place(device):
    problem = device.refused(device.what("weighed", "12:28", **_ticket("T-9")))
    named = [fault["pointer"].rpartition("/")[2] for fault in problem["errors"]]
    assert "destination_id" in named


def test_the_weight_of_a_tip_that_was_refused_lands_on_no_earlier_load(device):
    device.kept(
        device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN),
        device.what("mown", "12:15", lawn_id=device.lawn("Back"), **CLEAN),
    )
    (earlier,) = device.kept(device.what("tipped", "12:20", **device.site()))
    bad = device.what("tipped", "12:25", **device.site(), **_ticket("T-7", kg=5000))
    unreadable = {**device.what("tipped", "12:25", **device.site()), "remarks": 7}
    for tip in (bad, unreadable):
        weighed = device.what("weighed", "12:28", **device.site(), **_ticket("T-8"))
        rows = device.send(tip, weighed)["reports"]
        assert rows[-1]["problem"]["code"] == "tip_not_kept", rows
    assert device.load(earlier["load_id"])["weigh_ticket"] is None


def test_a_weight_that_is_sent_later_than_its_refused_tip_lands_on_no_earlier_load_either(device):
    device.kept(
        device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN),
        device.what("mown", "12:15", lawn_id=device.lawn("Back"), **CLEAN),
    )
    (earlier,) = device.kept(device.what("tipped", "12:20", **device.site()))
    device.kept(device.what("mown", "12:22", lawn_id=device.lawn("Side"), **CLEAN))
    tip = device.what("tipped", "12:25", **device.site())
    device.refused({**tip, "remarks": 7})
    device.refused({**tip, "weighed_net": {"value": 5000, "unit": "kg"}})
    weighed = device.what("weighed", "12:28", **device.site(), **_ticket("T-8"))
    problem = device.refused(weighed)
    assert problem["code"] == "tip_not_kept"
    assert "load_id" in problem["detail"]
    # What was weighed before is not of it, nor what names its load.
    before = device.what("weighed", "12:24", **device.site(), **_ticket("T-6"))
    named = device.what("weighed", "12:29", load_id=earlier["load_id"], **_ticket("T-6"))
    for told in (before, named):
        (row,) = device.kept(told)
        assert row["load_id"] == earlier["load_id"]
    (mended,) = device.kept(tip)
    (row,) = device.kept(weighed)
    assert row["load_id"] == mended["load_id"]
    assert device.load(earlier["load_id"])["weigh_ticket"] == "T-6"


def test_a_tip_that_was_refused_and_is_mended_to_an_earlier_hour_waits_for_no_weight(device):
    device.kept(device.what("mown", "12:10", lawn_id=device.lawn("Front"), **CLEAN))
    tip = device.what("tipped", "12:25", **device.site())
    device.refused({**tip, "remarks": 7})
    (mended,) = device.kept({**tip, "at": device.clock("12:20")})
    (row,) = device.kept(device.what("weighed", "12:28", **device.site(), **_ticket("T-8")))
    assert row["load_id"] == mended["load_id"]
