"""Values come back as they went in, and what is no value of the trade does not go in."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone
from math import inf, nan
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select, text, update
from sqlalchemy.exc import DBAPIError, IntegrityError, StatementError
from uuid_utils.compat import uuid7

from service.core.jobs import LotFinding
from service.core.materials import LotStatus
from service.core.measures.estimates import Estimate
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent
from service.core.places import Point
from service.storage.engine import make_engine
from service.storage.tables.places import LawnRow
from service.storage.tables.work import JobRow
from service.storage.unit_of_work import unit_of_work_opener
from tests.database.books import NOW
from tests.database.conftest import kept_books

# A fixture of one test serves all its examples here: each example keeps records of its own.
several_examples = settings(
    max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

numbers = st.floats(allow_nan=False, allow_infinity=False)
words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
# No clock goes back in UTC, nor in a time without a day, so neither has a fold.
json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(min_value=-(2**70), max_value=2**70)
    | numbers
    | words
    | st.dates()
    | st.times().map(lambda clock: clock.replace(fold=0))
    | st.uuids()
    | st.datetimes().map(lambda moment: moment.replace(tzinfo=UTC, fold=0)),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=12,
)


def kept_again(open_unit, record, name):
    with open_unit() as unit:
        unit.repository(name).add(record)
        return unit.repository(name).get(record.firm_id, record.id)


def test_a_record_of_any_kind_comes_back_as_it_went_in(open_unit, books):
    with open_unit() as unit:
        for name, record in books.all().items():
            again = unit.repository(name).get(books.firm.id, record.id)
            assert again == record
            assert repr(again.created_at) == repr(record.created_at)


def test_a_record_without_its_optional_values_comes_back_without_them(open_unit, books):
    bare = {
        "beds": {"point": None, "animals": (), "consent": Consent(), "water_distance_m": None},
        "treatments": {"label_wait": None, "active_ingredients": (), "remarks": None},
        "jobs": {"measured_mass": None, "height_removed": None, "estimate": None, "findings": ()},
        "loads": {"weighed_net": None, "crew_id": None, "done_at": None, "explanation": {}},
        "delivery_notes": {"acknowledgement": None, "number": "DN-2"},
        "compost_sites": {"hours": (), "closed_on": (), "process_days": None},
    }
    for name, changes in bare.items():
        record = books.another(name, **changes)
        assert kept_again(open_unit, record, name) == record


@several_examples
@given(
    value=st.floats(min_value=1e-200, max_value=1e200),
    unit=st.sampled_from(["m2", "har", "[sft_i]", "[acr_us]"]),
    name=words,
)
def test_a_measure_keeps_every_bit_as_entered(open_unit, books, value, unit, name):
    lawn = books.another("lawns", area=Measure(value=value, unit=unit), name=name)
    again = kept_again(open_unit, lawn, "lawns")
    assert (again.area.value.hex(), again.area.unit) == (value.hex(), unit)
    assert again == lawn


@pytest.mark.usefixtures("books")
def test_a_measure_has_its_si_value_beside_it(engine):
    with engine.connect() as connection:
        row = connection.execute(
            select(LawnRow.area_value, LawnRow.area_unit, LawnRow.area_si_value)
        ).one()
    # NIST SP 811 (2008), appendix B.8: 1 acre (US survey) = 4.046 873 E+03 m2.
    assert row[:2] == (0.1, "[acr_us]")
    assert row.area_si_value == pytest.approx(404.6873, abs=0.00005)


@several_examples
@given(facts=st.dictionaries(words, json_values, max_size=4))
def test_facts_come_back_as_what_they_were(open_unit, books, facts):
    finding = LotFinding(status=LotStatus.CLEAN, code="example", facts=facts)
    again = kept_again(open_unit, books.another("jobs", findings=(finding,)), "jobs")
    assert again.findings == (finding,)
    assert repr(again.findings[0].facts) == repr(facts)


@several_examples
@given(ends=st.lists(st.floats(min_value=0, max_value=1e308), min_size=3, max_size=3))
def test_an_estimate_keeps_every_bit(open_unit, books, ends):
    low, likely, high = sorted(ends)
    mass = Estimate(low=low, likely=likely, high=high, unit="kg", basis="b", sources=("s",))
    again = kept_again(open_unit, books.another("loads", mass_kg=mass), "loads")
    assert repr(again.mass_kg) == repr(mass)


def test_a_tenth_stays_a_tenth(open_unit, books):
    vehicle = books.another("vehicles", payload_kg=0.1, body_volume_m3=0.1 + 0.2)
    again = kept_again(open_unit, vehicle, "vehicles")
    assert (again.payload_kg, again.body_volume_m3) == (0.1, 0.30000000000000004)


@several_examples
@given(
    at=st.datetimes(
        min_value=datetime(1970, 1, 2),  # noqa: DTZ001 # the zone is drawn beside it
        max_value=datetime(2100, 1, 1),  # noqa: DTZ001 # see above
        timezones=st.integers(-14 * 60, 14 * 60).map(
            lambda minutes: timezone(timedelta(minutes=minutes))
        ),
    )
)
def test_a_moment_is_the_same_whatever_zone_it_came_in(open_unit, books, at):
    bed = books.another("beds", ground_state_at=at)
    again = kept_again(open_unit, bed, "beds").ground_state_at
    assert again == at
    assert again.tzinfo is UTC


def test_moments_are_found_by_the_instant_not_by_the_clock_on_the_wall(open_unit, books):
    west = timezone(timedelta(hours=-8))
    with open_unit() as unit:
        found = unit.jobs.of_day(
            books.firm.id,
            books.depots.id,
            books.jobs.cut_at.astimezone(west),
            (books.jobs.cut_at + timedelta(microseconds=1)).astimezone(west),
        )
    assert found == [books.jobs]


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/St_Johns"])
def test_a_moment_does_not_depend_on_the_servers_zone(postgresql_url, zone):
    engine = make_engine(f"{postgresql_url}?options=-c%20timezone%3D{zone}")
    books = kept_books(unit_of_work_opener(engine))
    with unit_of_work_opener(engine)() as unit:
        assert unit.jobs.get(books.firm.id, books.jobs.id) == books.jobs
        assert unit.jobs.get(books.firm.id, books.jobs.id).cut_at.tzinfo is UTC
    engine.dispose()


def test_a_time_without_a_zone_is_refused(open_unit, books):
    naive = NOW.replace(tzinfo=None)
    with open_unit() as unit, pytest.raises(StatementError, match="has no time zone"):
        unit.beds.add(books.another("beds", ground_state_at=naive))
    with open_unit() as unit:
        status = replace(books.compost_sites.live_status, as_of=naive)
        with pytest.raises(ValueError, match="has no time zone"):
            unit.compost_sites.add(books.another("compost_sites", live_status=status))


@pytest.mark.parametrize("number", [nan, inf, -inf, -0.001, 0.0])
def test_what_is_no_payload_does_not_go_in(open_unit, books, number):
    with open_unit() as unit, pytest.raises(IntegrityError):
        unit.vehicles.add(books.another("vehicles", payload_kg=number))


@pytest.mark.parametrize("number", [nan, inf])
def test_no_nested_number_is_beyond_numbers(open_unit, books, number):
    beyond = books.another("loads", explanation={"mass_kg": number})
    with open_unit() as unit, pytest.raises((StatementError, ValueError), match="Out of range"):
        unit.loads.add(beyond)


def test_a_point_lies_on_the_earth(open_unit, books):
    with open_unit() as unit, pytest.raises(IntegrityError):
        unit.depots.add(books.another("depots", point=Point(latitude=91.0, longitude=0.0)))


@pytest.mark.usefixtures("books")
def test_a_word_that_is_none_of_the_trades_does_not_go_in(engine):
    with engine.connect() as connection, pytest.raises(DBAPIError):
        connection.execute(update(JobRow).values(status="fairly clean"))


def test_an_error_of_the_database_repeats_no_address(open_unit, books):
    nowhere = Point(latitude=91.0, longitude=0.0)
    depot = books.another("depots", address="7 Secret Street", point=nowhere)
    with open_unit() as unit, pytest.raises(IntegrityError) as failed:
        unit.depots.add(depot)
    # The logs keep the first line of an error: what PostgreSQL adds below it is the whole row.
    assert "Secret" not in str(failed.value).split("\n", 1)[0]


def test_an_unknown_filter_is_a_fault_and_not_everything(open_unit, books):
    with open_unit() as unit:
        for name in ("colour", "area", "name; DROP TABLE lawns"):
            with pytest.raises(ValueError, match="cannot be filtered"):
                unit.lawns.all(books.firm.id, **{name: "green"})
        with pytest.raises(ValueError, match="cannot be filtered"):
            unit.jobs.count(books.firm.id, findings=())


def test_a_field_that_was_added_later_has_its_default(engine, open_unit, books):
    with engine.begin() as connection:
        connection.execute(text('UPDATE beds SET consent = \'{"state": "given"}\''))
    with open_unit() as unit:
        bed = unit.beds.get(books.firm.id, books.beds.id)
    assert bed.consent == replace(Consent(), state=books.beds.consent.state)


def test_a_change_is_kept_readable_whatever_the_field_was(open_unit, books):
    changes = {
        "area": [books.lawns.area, Measure(value=2.0, unit="har")],
        "applied_on": [date(2026, 1, 1), None],
        "shift_starts": [time(7), time(8)],
        "at": [NOW, NOW],
        "client_id": [books.clients.id, None],
        "status": [LotStatus.CLEAN, LotStatus.WEEDY],
    }
    amendment = books.amendment(changes=changes)
    with open_unit() as unit:
        unit.amendments.add(amendment)
        [again] = unit.amendments.of(books.firm.id, books.lawns.id)
    assert again.changes == {
        **changes,
        "area": [{"value": 0.1, "unit": "[acr_us]"}, {"value": 2.0, "unit": "har"}],
    }
    assert isinstance(again.changes["client_id"][0], UUID)


def test_an_issued_note_takes_an_acknowledgement_and_nothing_else(open_unit, books):
    note = books.delivery_notes
    bare = books.another("delivery_notes", acknowledgement=None, number="DN-2026-000002")
    with open_unit() as unit:
        unit.delivery_notes.add(bare)
        signed = replace(bare, acknowledgement=note.acknowledgement, version=2)
        unit.delivery_notes.replace(signed, expected_version=1)
        assert unit.delivery_notes.get(books.firm.id, bare.id) == signed
        for forged in (
            replace(note, version=2, content={}),
            replace(note, version=2, number="DN-2026-000009"),
            replace(note, version=2, client_id=uuid7()),
        ):
            with pytest.raises(ValueError, match="does not change"):
                unit.delivery_notes.replace(forged, expected_version=1)
        with pytest.raises(ValueError, match="stays"):
            unit.delivery_notes.remove(books.firm.id, note.id)
