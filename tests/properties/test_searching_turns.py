"""Every firm has its turn at the planner, however much others ask for."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from service.core.callers.access import Role
from service.core.searches import Search, SearchKind
from service.usecases.planning.searches.turns import in_turn

START = datetime(2026, 5, 24, 8, tzinfo=UTC)
FIRMS = tuple(UUID(int=number) for number in range(1, 6))


def search(firm_id, number):
    at = START + timedelta(seconds=number)
    return Search(
        firm_id=firm_id,
        id=UUID(int=1000 + number),
        kind=SearchKind.WHAT_IF,
        key_id=UUID(int=9),
        role=Role.OWNER,
        wanted={},
        asked_at=at,
        looked_at=at,
    )


# None: a planner takes the next one; else a firm asks for one more.
doings = st.lists(st.none() | st.sampled_from(FIRMS), max_size=60)


@given(doings)
def test_nobody_waits_for_more_than_one_search_of_each_other_firm_before_each_of_its_own(done):
    waiting, served, taken, passed = [], {}, [], {}
    for number, firm in enumerate([*done, *[None] * len(done)]):
        if firm is not None:
            waiting.append(one := search(firm, number))
            passed[one.id] = Counter()
        elif waiting:
            one = in_turn(waiting, served)[0]
            waiting.remove(one)
            taken.append(one)
            served[one.firm_id] = START + timedelta(seconds=number)
            for other in waiting:
                passed[other.id][one.firm_id] += 1
    assert not waiting
    for one in taken:
        own = passed[one.id].pop(one.firm_id, 0)
        assert all(count <= own + 1 for count in passed[one.id].values())


@given(doings)
def test_the_order_told_is_the_order_taken_if_nobody_asks_meanwhile(done):
    waiting = [search(firm, number) for number, firm in enumerate(done) if firm is not None]
    told, served, taken = in_turn(waiting, {}), {}, []
    while waiting:
        one = in_turn(waiting, served)[0]
        waiting.remove(one)
        taken.append(one)
        served[one.firm_id] = START + timedelta(seconds=len(taken))
    assert taken == told
