"""The enumeration of all plans finds what can be worked out on paper."""

from __future__ import annotations

import pytest

from tests.bench.planning.every_plan import bay_takes, cents, cheapest
from tests.unit.planning.plain_days import bay, bed, document, lot


def test_the_cheapest_of_all_plans_tips_the_smallest_part_beyond_a_beds_room():
    # 7.8 km 9.36; 30 kg to the bed, 10 beyond its room, 3.00 + 20.00; 20 kg to the bay 2.00 + 5.00
    day = document([lot("J1", 50)], [bed(20), bay(20)])
    assert cents(cheapest(day)) == 936 + 300 + 2000 + 200 + 500


def test_the_cheapest_of_all_plans_that_leave_material_leaves_what_finds_no_room():
    # 20 kg to the bed 3.00, 30 kg left at 4.00
    day = document([lot("J1", 50)], [bed(20, may_overflow=False)])
    assert cheapest(day) is None
    assert cents(cheapest(day, leaving=["V1"])) == 936 + 300 + 12000
    assert not bay_takes(day, "V1")
    assert bay_takes(document([lot("J1", 50)], [bay(1)]), "V1")


def test_no_plan_is_found_that_costs_less_than_the_cheapest():
    day = document([lot("J1", 50)], [bed(20), bay(20)])
    least = cheapest(day)
    assert cheapest(day, below=least) is None
    assert cheapest(day, below=least + 1) == least


@pytest.mark.parametrize(("kg", "keeps"), [(50, True), (51, False)])
def test_a_lock_of_more_than_is_aboard_is_kept_by_no_plan(kg, keeps):
    lock = {"after_job": "J1", "destination": "B", "mass_kg": kg}
    day = document([lot("J1", 50)], [bed(20), bay(20)], [lock])
    assert (cheapest(day, leaving=[day["vehicles"][0]["id"]]) is not None) == keeps
