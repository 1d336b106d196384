"""A destination may be shut for a while within its hours: who comes then waits, and is paid."""

import pytest

from service.planning.checker.check import check_plan
from service.planning.model.faults import ProblemNotUsable
from service.planning.model.problem import Problem
from tests.unit.planning.plain_days import bay, bed, document, lot
from tests.unit.planning.test_until import REACHED_S, a_day, solved, tips

NOON_S = 1_800
CREW_CENTS_PER_MIN = 60


def two_full_lots(**pause):
    """The body holds one of the lots: the first is tipped before the second is loaded."""
    return document(
        [lot("J1", 1000), lot("J2", 1000)],
        [bed(2000, **pause)],
        crew_cents_per_min=CREW_CENTS_PER_MIN,
    )


def planned(day):
    plan = solved(day)
    assert check_plan(Problem.from_json(day), plan) == []
    return [stop.arrive_s for stop in plan.vehicles[0].stops], plan.cost_cents.total


def test_a_tip_begins_in_the_last_second_before_a_pause_and_a_second_later_the_crew_waits():
    times, cents = planned(two_full_lots())
    assert times[1] == REACHED_S
    shut_later = two_full_lots(pause_from_s=REACHED_S, pause_until_s=REACHED_S + NOON_S)
    assert planned(shut_later) == (times, cents)
    shut_sooner = two_full_lots(pause_from_s=REACHED_S - 1, pause_until_s=REACHED_S + NOON_S)
    waited_s = [0, 0, NOON_S, NOON_S]
    assert planned(shut_sooner) == (
        [at + more for at, more in zip(times, waited_s, strict=True)],
        cents + NOON_S // 60 * CREW_CENTS_PER_MIN,
    )


def test_nobody_waits_for_a_pause_that_is_over_or_is_paid_for_one_after_the_last_lot():
    times, cents = planned(two_full_lots())
    over = two_full_lots(pause_from_s=REACHED_S - NOON_S, pause_until_s=REACHED_S)
    assert planned(over) == (times, cents)
    last = two_full_lots(pause_from_s=times[-1] - 1, pause_until_s=times[-1] + NOON_S)
    assert planned(last) == (times, cents)


def test_what_turns_sour_before_a_gate_opens_again_goes_elsewhere():
    opens_s = REACHED_S + NOON_S
    pause = {"pause_from_s": REACHED_S - 1, "pause_until_s": opens_s}
    assert tips(solved(a_day(opens_s, **pause))) == [("B", REACHED_S)]
    ((destination, _),) = tips(solved(a_day(opens_s - 1, **pause)))
    assert destination == "H"


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({"pause_from_s": 40_000}, "pause_until_s"),
        ({"pause_until_s": 40_000}, "pause_from_s"),
        ({"pause_from_s": 50_000, "pause_until_s": 40_000}, "pause_until_s"),
        ({"pause_from_s": 10, "pause_until_s": 40_000, "open_s": 20_000}, "pause_from_s"),
        ({"pause_from_s": 30_000, "pause_until_s": 90_000}, "close_s"),
    ],
)
def test_a_pause_that_is_none_is_named(given, pointer):
    with pytest.raises(ProblemNotUsable) as refused:
        Problem.from_json(document([lot("J1", 100)], [bed(1000, **given), bay(5000)]))
    assert [fault.pointer for fault in refused.value.faults] == [f"/destinations/0/{pointer}"]
