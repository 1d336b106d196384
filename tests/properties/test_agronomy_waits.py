"""What must hold for waits after treatments, whatever was put on."""

from hypothesis import given
from hypothesis import strategies as st

from service.agronomy.treatments.waits import (
    LabelWait,
    Outcome,
    TreatmentFact,
    TreatmentVerdict,
    verdict_for,
)
from service.rules.lookup import Rulebook
from service.rules.treatments import DESTINATIONS
from tests.builders import DAY

RULES = Rulebook.load()
ORDER = (Outcome.CLEAR, Outcome.WAIT, Outcome.UNKNOWN, Outcome.NEVER)
substances = st.sampled_from([*RULES.treatments.substances, "something unheard of"])
labels = st.none() | st.builds(
    LabelWait,
    days=st.none() | st.integers(0, 400),
    mowings=st.none() | st.integers(0, 8),
    never=st.booleans(),
)


def after(
    names: list[str], days: int, mowings: int, label: LabelWait | None, destination: str
) -> TreatmentVerdict:
    fact = TreatmentFact(
        product="drawn",
        substances=tuple(names),
        waits=[row for name in names for row in RULES.treatments.waits_on(name, DAY)],
        days_since=days,
        mowings_since=mowings,
        label=label,
    )
    return verdict_for(destination, [fact])


@given(
    st.lists(substances, max_size=3),
    st.tuples(st.integers(0, 800), st.integers(0, 12)),
    st.tuples(st.integers(0, 400), st.integers(0, 12)),
    labels,
    st.sampled_from(DESTINATIONS),
)
def test_a_longer_wait_is_never_less_allowed(
    names: list[str],
    since: tuple[int, int],
    more: tuple[int, int],
    label: LabelWait | None,
    destination: str,
) -> None:
    sooner = after(names, since[0], since[1], label, destination)
    later = after(names, since[0] + more[0], since[1] + more[1], label, destination)
    assert ORDER.index(later.outcome) <= ORDER.index(sooner.outcome)
    assert later.days_left <= sooner.days_left
    assert later.mowings_left <= sooner.mowings_left


@given(
    st.lists(substances, min_size=1, max_size=3),
    substances,
    st.integers(0, 800),
    st.integers(0, 12),
    st.sampled_from(DESTINATIONS),
)
def test_one_more_substance_never_makes_clippings_cleaner(
    names: list[str], another: str, days: int, mowings: int, destination: str
) -> None:
    without = after(names, days, mowings, None, destination)
    with_it = after([*names, another], days, mowings, None, destination)
    assert ORDER.index(with_it.outcome) >= ORDER.index(without.outcome)
