"""What a plan told of one lawn is read back: where it goes, and what is tipped before it."""

from types import SimpleNamespace
from uuid import UUID

from service.core.materials import LotStatus
from service.usecases.telling.before_mowing.by_plan import by_plan, tipped_before
from service.usecases.telling.before_mowing.mixing import mixing
from service.usecases.telling.told.before_mowing import AboardTold

JOB = UUID(int=7)
LOT = {
    "job_id": str(JOB),
    "outcome": "unplaced",
    "goes_to": [],
    "needs_attention": None,
    "advice": None,
}


VEHICLE = str(UUID(int=9))


def load_id(at):
    return str(UUID(int=int(at.replace(":", ""))))


def drop(at, *codes):
    return {
        "kind": "drop",
        "load_id": load_id(at),
        "at": f"2026-05-24T{at}:00+01:00",
        "lot_codes": codes,
    }


def plan_of(*stops, warnings=(), **lot):
    vehicle = {"vehicle_id": VEHICLE, "registration": "AB12 CDE", "stops": list(stops)}
    routing = {"vehicles": [vehicle], "lots": [{**LOT, **lot}], "warnings": list(warnings)}
    return SimpleNamespace(id=UUID(int=1), revision=3, routing=routing)


HERE = {"kind": "job", "job_id": str(JOB), "at": "2026-05-24T10:00:00+01:00"}


def test_a_lot_that_is_tipped_before_a_lawn_is_gone_by_then():
    assert tipped_before(plan_of(drop("09:00", "A", "B"), HERE), JOB) == {"A", "B"}


def test_a_lot_that_is_tipped_in_part_is_still_there():
    plan = plan_of(drop("09:00", "A", "B"), HERE, drop("11:00", "B"))
    assert tipped_before(plan, JOB) == {"A"}


def test_a_lot_that_stays_aboard_for_want_of_room_is_still_there():
    warning = {"vehicle_id": VEHICLE, "code": "no_room_for_what_is_aboard", "lot_codes": ["A"]}
    assert tipped_before(plan_of(drop("09:00", "A"), HERE, warnings=[warning]), JOB) == set()


def test_what_has_no_place_is_said_to_have_none_and_why():
    need = {"code": "vehicle_out", "sentence": "AB12 CDE is out.", "facts": {}}
    large = {"code": "lot_too_large", "job_id": str(JOB)}
    for plan, because in (
        (plan_of(needs_attention=need), "out"),
        (plan_of(HERE, warnings=[large]), "too_large"),
        (plan_of(HERE), "unknown"),
    ):
        (said,) = by_plan(plan, JOB, is_current=True).says
        assert (said.code, said.facts["because"]) == ("no_place_by_plan", because)


def test_a_crew_reads_with_which_lot_the_plan_mixes_a_clean_one_and_what_it_counts_as_then():
    """Clean lawns went to the hold bay with an unknown one, and their cards did not say so."""
    way = {
        "load_id": load_id("11:00"),
        "load_status": "unknown",
        "destination_kind": "hold_bay",
        "destination_id": str(UUID(int=3)),
        "name": "Bay",
        "share": 1.0,
    }
    tip = {**drop("11:00", "MINE", "OTHER"), "keeps_until": None}
    plan = plan_of(HERE, tip, outcome="routed", goes_to=[way], status="clean", lot_code="MINE")
    other = {**plan.routing["lots"][0], "job_id": "8", "status": "unknown", "lot_code": "OTHER"}
    plan.routing["lots"].append(other)
    tipped, mixed = by_plan(plan, JOB, is_current=True).says
    assert tipped.code == "tipped_by_plan"
    assert mixed.code == "mixed_by_plan"
    assert mixed.facts == {"lots": ["OTHER"], "status": "unknown"}
    plan.routing["lots"][0]["status"] = "unknown"
    assert [one.code for one in by_plan(plan, JOB, is_current=True).says] == ["tipped_by_plan"]


def test_what_a_lot_does_to_those_under_it_has_another_word_than_what_the_plan_does_to_it():
    tip = drop("11:00", "MINE", "OTHER")
    plan = plan_of(
        HERE, tip, goes_to=[{"load_id": load_id("11:00")}], status="weedy", lot_code="MINE"
    )
    lot = SimpleNamespace(status=LotStatus.WEEDY)
    under = [AboardTold(lot_code="OTHER", status=LotStatus.CLEAN, tipped_before=False)]
    told = mixing(lot, under, SimpleNamespace(previous=plan, recalls=()), JOB, vehicle="AB12 CDE")
    assert told.code == "mixes_by_plan"
    assert "OTHER" in told.sentence
