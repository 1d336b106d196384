"""What the planner calls the best plan of a day that can be worked out on paper is the best."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.search.construction import LockNotPossible
from service.planning.search.progress import LARGE
from service.planning.solve import solve
from tests.unit.planning.plain_days import EVENING_S, MORNING_S, bay, bed, document, lot, plain_day


def solved(problem: Problem) -> Plan:
    plan = solve(problem, stop=StopRule(gap_permille=0.0), explain=False)
    assert check_plan(problem, plan) == []
    return plan


def tips(plan: Plan) -> list[tuple[str, int]]:
    """Return the tips of a plan in their order, "" for what is left."""
    left = [("", part.mass_kg) for part in plan.unplaced]
    return left + [
        (stop.destination, stop.mass_kg)
        for answer in plan.vehicles
        for stop in answer.stops
        if stop.destination is not None
    ]


def test_a_part_may_be_tipped_where_room_is_below_the_smallest_tip_if_that_may_overflow():
    # 7.8 km 9.36; 30 kg to the bed, 10 beyond its room, 3.00 + 20.00; 20 kg to the bay 2.00 + 5.00
    plan = solved(plain_day([lot("J1", 50)], [bed(20), bay(20)]))
    assert plan.cost_cents.total == 936 + 300 + 2000 + 200 + 500
    assert tips(plan) == [("B", 30), ("H", 20)]
    assert plan.work.ended_by == "optimal"


def test_where_a_bed_may_not_overflow_no_part_above_its_room_is_tipped():
    # to the yard and back to the bed, 11.7 km 14.04; 2.00 and 3.00; 30 kg to the bay 7.50, 10 of
    # them beyond its room 20.00
    plan = solved(plain_day([lot("J1", 50)], [bed(20, may_overflow=False), bay(20)]))
    assert plan.cost_cents.total == 1404 + 500 + 750 + 2000
    assert tips(plan) == [("H", 30), ("B", 20)]


def test_more_may_be_locked_than_a_bed_has_room_for_if_it_may_overflow():
    # 7.8 km 9.36; 150 kg to the bed, 50 beyond its room, 3.00 + 100.00; 250 kg 2.00 + 62.50
    lock = {"after_job": "J1", "destination": "B", "mass_kg": 150}
    plan = solved(plain_day([lot("J1", 400)], [bed(100), bay(5000)], [lock]))
    assert plan.cost_cents.total == 936 + 300 + 10000 + 200 + 6250
    assert tips(plan) == [("B", 150), ("H", 250)]
    assert plan.work.ended_by == "optimal"


def test_a_day_on_which_overflow_and_lateness_cost_nothing_is_planned_without_a_warning(recwarn):
    day = plain_day(
        [lot("J1", 50, window_s=[0, 0])],
        [bed(20), bay(20)],
        overflow_cents_per_kg=0,
        late_cents_per_min=0,
        unplaced_cents_per_kg=100,
    )
    plan = solved(day)
    assert plan.cost_cents.total == 936 + 300
    assert tips(plan) == [("B", 50)]
    assert not recwarn.list


def test_a_small_tip_on_the_way_is_made_while_no_minute_costs_and_not_for_a_paid_crew():
    # Yard 0, bed 1.5, lawn 3 km, roads 1.3 times as long, 633 m a minute. With the bed on the way
    # home 100 of 400 kg spare 25.00 of the bay and cost a stop, 3.00; no metre more is driven.
    # The tip takes 8 minutes: at 3.00 a minute they cost 24.00 and the stop 3.00, more than 25.00.
    # Driving takes 2 x 370 s, the tip in the yard 480 s: 1,220 s.
    day = [lot("J1", 400)], [bed(100, may_overflow=False), bay(5000)]
    unpaid = solved(plain_day(*day))
    assert tips(unpaid) == [("B", 100), ("H", 300)]
    assert unpaid.cost_cents.total == 936 + 300 + 200 + 7500
    paid = solved(plain_day(*day, crew_cents_per_min=300))
    assert tips(paid) == [("H", 400)]
    assert paid.cost_cents.crew == 1220 * 5
    assert paid.cost_cents.total == 936 + 200 + 10000 + paid.cost_cents.crew
    assert (paid.bound_proven, paid.work.ended_by) == (True, "optimal")


BED_OPENS_S = 10 * 3600


@pytest.mark.parametrize(
    ("minute", "where"), [(0, "B"), (60, "B"), (77, "B"), (78, "H"), (300, "H")]
)
def test_with_a_lawn_ahead_a_crew_waits_at_a_shut_gate_only_for_as_much_as_its_minutes_cost(
    minute, where
):
    # The second lot fills the body, so the first is tipped before it. 370 s to the lawn, 1,800 s of
    # work, 185 s to the bed, which is reached at 7:39:15 and opens at 10:00: 8,445 s of waiting.
    # The bed spares 102.00 of the bay for 3.00, and 3.9 km: 103.68. The way to the bay and back is
    # 370 s longer, so 8,075 s, 134.58 minutes, are to be paid: 77.04 each at most.
    day = [lot("J1", 400), lot("J2", 1000)], [bed(1400, open_s=BED_OPENS_S), bay(5000)]
    plan = solved(plain_day(*day, crew_cents_per_min=minute))
    assert tips(plan) == [(where, 400), ("B", 1000)]
    between_s = 370 + 8_445 if where == "B" else 740
    assert plan.cost_cents.crew == cents((2 * 370 + 2 * 480 + between_s) * minute)
    assert plan.work.ended_by == "optimal"


@pytest.mark.parametrize("minute", [0, 60, 300])
def test_after_the_last_lawn_nothing_waits_for_the_crew_so_it_may_wait(minute):
    day = [lot("J1", 400)], [bed(1000, open_s=BED_OPENS_S), bay(5000)]
    plan = solved(plain_day(*day, crew_cents_per_min=minute))
    assert tips(plan) == [("B", 400)]
    assert plan.cost_cents.crew == cents((2 * 370 + 480) * minute)
    assert (plan.bound_proven, plan.work.ended_by) == (True, "optimal")


def test_a_wait_before_the_first_lot_is_in_every_plan_and_in_the_bound():
    # The lawn is reached at 7:06:10 and may be mown from 9:00.
    nine_s = 9 * 3600
    day = [lot("J1", 400, window_s=[nine_s, EVENING_S])], [bed(1000), bay(5000)]
    plan = solved(plain_day(*day, crew_cents_per_min=60))
    assert plan.cost_cents.crew == 2 * 370 + 480 + (nine_s - MORNING_S - 370)
    assert plan.work.ended_by == "optimal"


def cents(sixtieths: int) -> int:
    return (2 * sixtieths + 60) // 120


def test_what_is_less_than_a_place_takes_at_a_time_goes_elsewhere_even_if_that_empties_the_body():
    # To the bed on the way for 3.00, or to the bay, 2.00 and 12.50 for 50 kg.
    near = bed(1000, least_kg=51)
    assert tips(solved(plain_day([lot("J1", 50)], [near, bay(100)]))) == [("H", 50)]
    assert tips(solved(plain_day([lot("J1", 51)], [near, bay(100)]))) == [("B", 51)]


def test_a_part_is_no_less_than_a_place_takes_at_a_time_and_lots_come_together_for_it():
    # 90 kg fit the bed; the rest is cheapest kept as small as a tip may be.
    near = bed(90, least_kg=80, may_overflow=False)
    assert tips(solved(plain_day([lot("J1", 400)], [near, bay(500)]))) == [("B", 90), ("H", 310)]
    two = [lot("J1", 40), lot("J2", 45)]
    assert tips(solved(plain_day(two, [near, bay(500)]))) == [("B", 85)]


def test_a_vehicle_whose_lots_are_less_sure_brings_more_than_the_least():
    # A client takes no less than 50 kg at the likely mass; this body's high end is 1.2 of it.
    def day(mass_kg):
        plain = plain_day([lot("J1", mass_kg)], [bed(1000, least_kg=50), bay(100)])
        (vehicle,) = plain.vehicles
        return replace(plain, vehicles=(replace(vehicle, least_permille=1200),))

    assert tips(solved(day(59))) == [("H", 59)]
    assert tips(solved(day(60))) == [("B", 60)]


def test_a_lock_of_less_than_a_place_takes_at_a_time_is_refused():
    lock = {"after_job": "J1", "destination": "B"}
    with pytest.raises(LockNotPossible):
        solve(plain_day([lot("J1", 50)], [bed(1000, least_kg=51), bay(100)], [lock]))


def test_an_overtime_minute_costs_the_crew_and_what_comes_on_top():
    # 370 s back from a lawn that is left at 17:00, and 480 s at the bay: all of it is too late.
    late = plain_day(
        [lot("J1", 50, window_s=[EVENING_S - 1800, EVENING_S])],
        [bay(100)],
        crew_cents_per_min=60,
    )
    plan = solved(late)
    waited_s = EVENING_S - 1800 - MORNING_S - 370
    assert plan.cost_cents.crew == 370 + waited_s + 370 + 480
    assert plan.cost_cents.overtime == round((370 + 480) * 100 / 60)


def test_nothing_is_left_that_the_bay_takes_however_cheap_leaving_is():
    # 7.8 km 9.36; all 50 kg to the bay 2.00 + 12.50
    plan = solved(plain_day([lot("J1", 50)], [bay(5000)], unplaced_cents_per_kg=1))
    assert plan.cost_cents.total == 936 + 200 + 1250
    assert (plan.unplaced, plan.work.ended_by) == ((), "optimal")
    assert plan.bound_scope.endswith("plans that place everything")


def test_where_no_bay_takes_a_lot_leaving_it_is_a_choice_that_the_bound_knows():
    # the bed would take it for 3.00; to leave 50 kg costs 0.50
    day = plain_day([lot("J1", 50)], [bed(5000)], unplaced_cents_per_kg=1)
    plan = solve(day, stop=StopRule(gap_permille=0.0))
    assert check_plan(day, plan) == []
    assert plan.cost_cents.total == 936 + 50
    assert tips(plan) == [("", 50)]
    assert (plan.bound_cents, plan.bound_proven) == (936 + 50, True)
    assert plan.bound_scope.endswith("place everything but what they leave of V1")
    assert plan.unplaced[0].reasons[0] == "to place everything would cost 250 more"


@pytest.mark.parametrize("locked", [[], [{"after_job": "J1", "destination": "B", "mass_kg": 20}]])
def test_what_finds_no_room_is_left_and_the_rest_is_placed(locked):
    # 20 kg to the bed 3.00, 30 kg left at 4.00
    day = plain_day([lot("J1", 50)], [bed(20, may_overflow=False)], locked)
    plan = solved(day)
    assert plan.cost_cents.total == 936 + 300 + 12000
    assert tips(plan) == [("", 30), ("B", 20)]
    assert (plan.bound_proven, plan.work.ended_by) == (True, "optimal")


def test_less_than_the_smallest_tip_may_be_left_before_two_tips():
    # 59 of 60 kg find room, 30 in each bed: one is left
    beds = [bed(30, may_overflow=False), bed(29, id="C", may_overflow=False)]
    plan = solved(plain_day([lot("J1", 60)], beds, minimum_tip_kg=29))
    assert plan.cost_cents.total == 936 + 600 + 400
    assert tips(plan)[0] == ("", 1)
    assert plan.work.ended_by == "optimal"


def test_a_lock_after_a_job_that_loads_nothing_is_refused():
    lock = {"after_job": "J1", "destination": "B"}
    with pytest.raises(LockNotPossible, match="no plan was found"):
        solve(plain_day([lot("J1", 0, volume_l=0)], [bed(100), bay(100)], [lock]))


def test_a_plan_whose_bound_is_no_proof_is_not_called_optimal():
    # a tip that takes no time: rounded ways may then be shorter over it, see ``bound_note``
    plan = solved(plain_day([lot("J1", 50)], [bay(5000, tip_s=0)]))
    assert plan.bound_cents == plan.cost_cents.total
    assert (plan.bound_proven, plan.work.ended_by) == (False, "work")


def test_what_a_search_may_take_is_counted_and_said_before_anything_else():
    said: list[str] = []
    solve(plain_day([lot("J1", 50)], [bay(5000)]), explain=False, progress=said.append)
    limits = "1 vehicles: at most 8 bounds, 60 rounds of prices each, 120 sub-problems and nodes"
    assert said[0] == f"{limits}; no clock"


def test_a_search_of_very_many_vehicles_takes_one_bound_without_a_clock_too():
    day = document([lot("J1", 50)], [bay(5000)])
    (vehicle,) = day["vehicles"]
    more = [{**vehicle, "id": f"W{number}", "jobs": []} for number in range(LARGE)]
    said: list[str] = []
    problem = Problem.from_json(day | {"vehicles": [vehicle, *more]})
    plan = solve(problem, explain=False, progress=said.append)
    assert "at most 1 bounds, 25 rounds" in said[0]
    assert sum(line.startswith("certificate") for line in said) == 1
    assert plan.bound_proven


def on_roads(straight_m: int) -> Problem:
    """Return a day on which the way from yard to lawn is shorter over a bed that takes nothing."""
    day = document([lot("J1", 50)], [bed(100, accepts=["weedy"]), bay(5000)])
    metres = [[0, 2000, straight_m], [2000, 0, 2000], [straight_m, 2000, 0]]
    seconds = [[way * 60 // 633 for way in row] for row in metres]
    return Problem.from_json(day | {"matrix": {"distance_m": metres, "duration_s": seconds}})


def test_a_detour_that_is_shorter_without_its_stop_takes_no_proof_away():
    # 4 km over the bed and its stop of 3.00 cost more than 5 km: 10 km 12.00; 2.00 + 12.50
    plan = solved(on_roads(5000))
    assert plan.cost_cents.total == 1200 + 200 + 1250
    assert (plan.bound_note, plan.work.ended_by) == ("", "optimal")


def test_a_detour_that_pays_for_its_stop_is_counted_in_the_bound_and_said():
    # over the bed the way there and the way back cost 4.80 + 3.00 each instead of 60.00
    plan = solved(on_roads(50_000))
    assert plan.cost_cents.total == 12_000 + 200 + 1250
    assert "metric closure" in plan.bound_note
    assert plan.bound_proven
    assert 2 * 480 < plan.bound_cents <= 2 * 780 + 200 + 1250
