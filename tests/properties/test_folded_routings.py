"""What was folded away comes back as it was, whatever changed between two plans."""

from hypothesis import given
from hypothesis import strategies as st

from service.storage.folding import folded, unfolded

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


@given(rows=st.lists(parts, max_size=5), data=st.data())
def test_rows_that_moved_left_or_came_twice_come_back_in_their_order(rows, data):
    other = data.draw(st.permutations([*rows, *rows[:2]]))
    assert repr(unfolded(folded(rows, other), other)) == repr(rows)


def test_one_vehicle_of_many_costs_what_it_says_and_not_what_they_all_say():
    def routing(cost):
        return {"vehicles": [{"vehicle_id": str(n), "said": "x" * n} for n in range(900)] + cost}

    before, after = routing([]), routing([{"vehicle_id": "900", "said": "y" * 50}])
    assert len(folded(after, before)) < 100
