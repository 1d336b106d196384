"""What was folded away comes back as it was, whatever changed between two plans."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.storage.repositories.folding import folded, unfolded

plain = st.none() | st.booleans() | st.integers(-9, 9) | st.floats(-2, 2) | st.text(max_size=3)
parts = st.recursive(
    plain,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["job_id", "kind", "at", "stops"]), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(old=parts, new=parts)
def test_any_value_comes_back_from_any_other(old, new):
    back = unfolded(folded(old, new), new)
    assert (repr(back), type(back)) == (repr(old), type(old))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ({"kg": 0}, {"kg": 0.0}),
        ([True, 1.0], [1, True]),
        ({"at": 1, "kind": {"kg": 2, "stops": 3}}, {"at": 1, "kind": {"stops": 3, "kg": 2}}),
        ([{"job_id": "a", "kg": -0.0}], [{"job_id": "a", "kg": 0.0}]),
    ],
)
def test_what_equals_another_value_comes_back_as_it_was_written(old, new):
    assert repr(unfolded(folded(old, new), new)) == repr(old)


@given(rows=st.lists(parts, max_size=5), data=st.data())
def test_rows_that_moved_left_or_came_twice_come_back_in_their_order(rows, data):
    other = data.draw(st.permutations([*rows, *rows[:2]]))
    assert repr(unfolded(folded(rows, other), other)) == repr(rows)


def test_one_vehicle_of_many_costs_what_it_says_and_not_what_they_all_say():
    def routing(cost):
        return {"vehicles": [{"vehicle_id": str(n), "said": "x" * n} for n in range(900)] + cost}

    before, after = routing([]), routing([{"vehicle_id": "900", "said": "y" * 50}])
    assert len(folded(after, before)) < 100
