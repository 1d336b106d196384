"""Whatever is done in whatever order, a database ends like the stand-in in memory."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.core.errors import Refusal
from tests.database.books import DAY, Books
from tests.fakes import MemoryStore

PLACES = 3  # so few that they are met again and again
places = st.integers(0, PLACES - 1)
versions = st.integers(1, 4)

deeds = st.one_of(
    st.tuples(st.just("add"), places),
    st.tuples(st.just("add_many"), st.lists(places, max_size=3, unique=True)),
    st.tuples(st.just("replace"), places, versions),
    st.tuples(st.just("replace_many"), st.lists(places, max_size=3, unique=True), versions),
    st.tuples(st.just("remove"), places),
    st.tuples(st.just("bump"), places, places),
    st.tuples(st.just("mark_planned"), st.integers(3, 6)),
)


def do(unit, books, lawns, deed):
    """Do one deed and return what the store answered."""
    answer = None
    match deed:
        case ("add", place):
            unit.lawns.add(lawns[place])
        case ("add_many", chosen):
            unit.lawns.add_many([lawns[place] for place in chosen])
        case ("replace", place, version):
            newer = replace(lawns[place], version=version + 1, name=f"v{version + 1}")
            unit.lawns.replace(newer, expected_version=version)
        case ("replace_many", chosen, version):
            unit.lawns.replace_many([replace(lawns[p], version=version + 1) for p in chosen])
        case ("remove", place):
            unit.lawns.remove(books.firm.id, lawns[place].id)
        case ("bump", first, span):
            start = DAY + timedelta(days=first - 1)
            end = start + timedelta(days=span)
            unit.working_days.bump(books.firm.id, depot_id=None, from_day=start, to_day=end)
        case ("mark_planned", revision):
            answer = unit.working_days.mark_planned(
                books.working_days, revision=revision, plan_id=books.day_plans.id
            )
    return answer


def outcome(open_unit, books, lawns, deed):
    """Return what a unit of work with one deed came to: kept, refused and why."""
    with open_unit() as unit:
        try:
            answer = do(unit, books, lawns, deed)
        except Refusal as refusal:
            return refusal.code, refusal.facts.get("current")
        unit.commit()
        return answer


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(done=st.lists(deeds, max_size=12))
def test_a_database_ends_like_the_memory(open_unit, done):
    memory, books = MemoryStore(), Books()
    lawns = [books.another("lawns", name=f"Lawn {place}") for place in range(PLACES)]
    for opener in (memory, open_unit):
        with opener() as unit:
            books.keep(unit)
            unit.commit()
    for deed in done:
        assert outcome(open_unit, books, lawns, deed) == outcome(memory, books, lawns, deed)
    with open_unit() as unit, memory() as stand_in:
        assert unit.lawns.all(books.firm.id) == stand_in.lawns.all(books.firm.id)
        day, same_day = (
            each.working_days.of(books.firm.id, books.depots.id, DAY) for each in (unit, stand_in)
        )
        # Only a database counts these changes in the version: it has rivals.
        assert replace(day, version=1) == same_day
