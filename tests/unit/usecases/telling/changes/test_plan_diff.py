"""Why a lot goes elsewhere: the reason that is told is the one that holds."""

from dataclasses import replace
from datetime import timedelta
from uuid import NAMESPACE_OID, uuid5

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.measures.quantities import Measure
from service.core.permission.consent import ConsentState
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.usecases.telling.changes.differences import lots_that_moved
from tests.firms import make_firm


def laid_out(firm, *, jobs=3):
    """Keep a crew with some jobs and two sites, one dearer."""
    crew = firm.crew(firm.vehicle())
    near = firm.site()
    firm.site(name="Far compost", fee=replace(near.fee, amount_cents=9000))
    lawns = [firm.lawn(number) for number in range(1, jobs + 1)]
    rows = [
        firm.job(lawn, crew, hour=8 + n, height_removed=Measure(value=30.0, unit="mm"))
        for n, lawn in enumerate(lawns)
    ]
    return near, lawns, [answer.job for answer in firm.jobs.create_many(firm.caller, rows)]


def told_after(firm, change):
    """Return what moved, and why, when a planned day is planned again after a change."""
    before = firm.plan_day()
    change()
    return lots_that_moved(before, firm.plan_day())


def live(firm, site, **said):
    """Let a site say how it is today."""
    status = LiveStatus(state=SiteState.OPEN, as_of=firm.clock.now(), **said)
    firm.library.compost_sites.amend(
        firm.caller, site.id, {"live_status": status}, expected_version=1
    )


def test_a_site_that_closes_before_a_load_would_be_there_is_the_reason():
    firm = make_firm()
    near, _, jobs = laid_out(firm)
    closing = firm.clock.now() + timedelta(hours=2.5)  # half past eight in London
    moved = told_after(firm, lambda: live(firm, near, closes_early_at=closing))
    assert {told.job_id for told in moved} == {job.id for job in jobs}
    for told in moved:
        assert told.code == "closes_earlier"
        assert "08:30" in told.why


def test_a_site_with_less_room_is_the_reason_and_says_how_much():
    firm = make_firm()
    near, _, _ = laid_out(firm)
    moved = told_after(firm, lambda: live(firm, near, capacity_left_kg=60.0))
    assert moved
    assert {told.code for told in moved} == {"less_room"}
    assert all("60 kg" in told.why for told in moved)


def test_room_that_others_took_is_not_told_as_cheaper():
    firm = make_firm()
    crew = firm.crew(firm.vehicle())
    firm.site()
    first, second = firm.lawn(1), firm.lawn(2)
    firm.bed(first, area_m2=30.0)
    firm.jobs.create_many(firm.caller, [firm.job(second, crew, hour=12)])
    wanted = firm.job(first, crew, hour=8)
    moved = told_after(firm, lambda: firm.jobs.create_many(firm.caller, [wanted]))
    codes = {told.code for told in moved}
    assert "lot_new" in codes
    assert codes <= {"lot_new", "room_went_to_others"}


def test_a_lot_that_became_heavier_is_told_with_both_masses():
    firm = make_firm()
    _, lawns, jobs = laid_out(firm, jobs=1)
    firm.bed(lawns[0], area_m2=60.0)
    taller = {"height_removed": Measure(value=60.0, unit="mm")}
    moved = told_after(
        firm, lambda: firm.jobs.amend(firm.caller, jobs[0].id, taller, expected_version=1)
    )
    (told,) = moved
    assert told.code == "lot_otherwise"
    assert told.why.count(" kg") == 2
    assert " to " in told.why


def test_a_refusal_where_a_lot_went_is_the_reason_however_many_refuse_nearby():
    firm = make_firm()
    crew = firm.crew(firm.vehicle())
    home, unsettled = firm.lawn(1), LegalBasis(kind=LegalBasisKind.NOT_ESTABLISHED)
    for _ in range(8):  # nearer than the willing one, and more than are told
        firm.bed(home, legal_basis=unsettled)
    away = firm.lawn(4)
    willing = firm.bed(away, area_m2=200.0)
    tall = Measure(value=30.0, unit="mm")  # too long to be left
    firm.jobs.create_many(firm.caller, [firm.job(home, crew, height_removed=tall)])
    withdrawn = replace(willing.consent, state=ConsentState.WITHDRAWN)
    moved = told_after(
        firm,
        lambda: firm.library.beds.amend(
            firm.caller, willing.id, {"consent": withdrawn}, expected_version=1
        ),
    )
    assert {told.code for told in moved} == {"no_consent"}


NEWER = ("vehicle_id", "taken_over_from_id", "needs_attention")


def as_kept_before(routing):
    """Return a routing as it was kept before lots said whose list they are on."""
    lots = [{k: told for k, told in lot.items() if k not in NEWER} for lot in routing["lots"]]
    vehicles = [{**vehicle, "out": None} for vehicle in routing["vehicles"]]
    for vehicle in vehicles:
        del vehicle["out"]
        vehicle["stops"] = [
            {name: told for name, told in stop.items() if name != "taken_over_from_id"}
            for stop in vehicle["stops"]
        ]
    return {**routing, "lots": lots, "vehicles": vehicles}


def test_routings_kept_from_before_lots_named_vehicles_are_compared_all_the_same():
    firm = make_firm()
    near, _, _ = laid_out(firm)
    before = firm.plan_day()
    live(firm, near, capacity_left_kg=60.0)
    after = firm.plan_day()
    new = lots_that_moved(before, after)
    assert new
    for one, two in ((before, as_kept_before(after)), (as_kept_before(before), after)):
        told = lots_that_moved(one, two)
        assert [(m.job_id, m.code) for m in told] == [(m.job_id, m.code) for m in new]
    both = lots_that_moved(as_kept_before(before), as_kept_before(after))
    assert [m.code for m in both] == [m.code for m in new]


def test_a_job_that_the_dispatcher_gave_to_another_vehicle_is_told_as_that():
    firm = make_firm()
    _, lawns, (job, *_) = laid_out(firm)
    other = firm.crew(firm.vehicle("OT02 HER"))
    firm.jobs.create(firm.caller, firm.job(lawns[2], other, hour=12))
    before = firm.plan_day()
    changes = {"vehicle_id": other.vehicle_id, "crew_id": other.id}
    firm.jobs.amend(firm.caller, job.id, changes, expected_version=1)
    moved = {told.job_id: told for told in lots_that_moved(before, firm.plan_day())}
    assert moved[job.id].code == "other_vehicle"
    assert "OT02 HER has this job now." in moved[job.id].why


def an_id(name):
    return str(uuid5(NAMESPACE_OID, name))


PLACES = [
    {"destination_id": an_id(name), "room_high_kg": 900, "planned_high_kg": 0}
    for name in ("bed", "bay", "yard")
]


def a_day(place, *, load_status="clean", locked=False, at_gate_at=None, worse=()):
    """Return a routing whose lot L-1 goes to a place, with what lies in the same load."""
    way = {
        "load_id": place,
        "destination_id": an_id(place),
        "destination_kind": "bed",
        "name": place,
        "share": 1.0,
        "load_status": load_status,
    }
    lots = [
        {
            "job_id": an_id(code),
            "lot_code": code,
            "status": status,
            "outcome": "routed",
            "mass_kg": {"high": 50.0},
            "goes_to": [way],
            "elsewhere": None,
            "vehicle_id": an_id("V"),
            "taken_over_from_id": None,
        }
        for code, status in (("L-1", "clean"), *worse)
    ]
    codes = [lot["lot_code"] for lot in lots]
    drop = {
        "kind": "drop",
        "load_id": place,
        "destination_id": an_id(place),
        "at": "2026-05-24T12:00:00+01:00",
        "locked": locked,
        "at_gate_at": at_gate_at,
        "lot_codes": codes,
    }
    vehicle = {"vehicle_id": an_id("V"), "registration": "AB12 CDE", "out": None, "stops": [drop]}
    return {"lots": lots, "vehicles": [vehicle], "destinations": PLACES}


def test_a_clean_lot_that_lies_with_a_diseased_one_does_not_move_for_its_costs():
    after = a_day("bay", load_status="diseased", worse=[("L-2", "diseased")])
    moved = {one.lot_code: one for one in lots_that_moved(a_day("bed"), after)}["L-1"]
    assert moved.code == "lies_mixed"
    assert "L-2" in moved.why
    assert "diseased" in moved.why


def test_a_lot_whose_place_was_chosen_by_hand_does_not_move_for_its_costs():
    (moved,) = lots_that_moved(a_day("bed"), a_day("bay", locked=True))
    assert moved.code == "chosen_by_hand"
    (moved,) = lots_that_moved(a_day("bed"), a_day("bay"))
    assert moved.code == "cheaper_so"


def test_a_lot_whose_vehicle_is_at_a_gate_is_told_by_the_gates_word_and_not_as_a_choice():
    seen = "2026-05-24T11:40:00+01:00"
    (moved,) = lots_that_moved(a_day("bed"), a_day("yard", at_gate_at=seen))
    assert (moved.code, moved.why) == (
        "at_gate",
        "AB12 CDE was seen at the gate of yard at 11:40: its load stays there.",
    )
    (moved,) = lots_that_moved(a_day("bed"), a_day("bay", locked=True))
    assert "gate" not in moved.why


def as_left(routing, outcome, **more):
    (lot,) = routing["lots"]
    return {**routing, "lots": [{**lot, "outcome": outcome, "goes_to": [], "advice": None, **more}]}


def test_grass_that_stayed_where_the_plan_had_it_stay_has_not_moved():
    planned, done = (as_left(a_day("bed"), word) for word in ("leave_on_lawn", "left_on_lawn"))
    assert lots_that_moved(planned, done) == ()


def test_grass_that_stays_on_its_lawn_by_now_moved_for_the_reason_of_that_and_not_for_its_costs():
    advice = {"code": "too_little_to_collect", "sentence": "So little is left there."}
    stays = as_left(a_day("bed"), "leave_on_lawn", advice=advice)
    (moved,) = lots_that_moved(a_day("bed"), stays)
    assert (moved.code, moved.why) == (advice["code"], advice["sentence"])
    left = as_left(a_day("bed"), "left_on_lawn")
    (moved,) = lots_that_moved(a_day("bed"), left)
    assert moved.code == "left_on_lawn"
