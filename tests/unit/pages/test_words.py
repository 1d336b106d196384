from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from service.core.errors import RecordNotUsable
from service.pages.day.view import letter_of
from service.pages.forms import Form
from service.pages.setup.columns import CellFault, Column, read_asked
from service.pages.words import unit_name, when
from service.usecases.telling.decisions.decision import in_words

NOON = datetime(2026, 5, 24, 11, 0, tzinfo=UTC).astimezone(ZoneInfo("Europe/London"))


def test_a_moment_in_a_sentence_is_read_by_the_clock_there():
    said = "Sour since 2026-05-24T04:53:00+00:00, worse from 2026-05-24T23:30:00Z on."
    assert in_words(said, NOON) == "Sour since 05:53, worse from 00:30 on 25 May 2026 on."


def test_an_hour_of_another_day_names_that_day():
    assert when("2026-05-24T15:00:00Z", NOON) == "16:00"
    assert when("2026-05-25T04:58:00Z", NOON) == "05:58 on Monday"


def test_a_unit_is_told_as_people_write_it_and_not_by_its_code():
    written = [unit_name(code) for code in ("m2", "mm", "har", "1000.[sft_i]", "[lb_av]")]
    assert written == ["m²", "mm", "hectare", "thousand square feet", "pound"]


def test_vehicles_past_the_twenty_sixth_have_letters_too():
    assert [letter_of(number) for number in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]


@pytest.mark.parametrize("text", ["1e9", "nan", "-3", "", "12,5,1", "\u0661\u0662", "0x10", "101"])
def test_a_number_is_plain_and_within_its_span(text):
    form = Form({"percent": text})
    assert form.number("percent", low=1, high=100) is None
    with pytest.raises(RecordNotUsable) as refused:
        form.done()
    assert [fault.pointer for fault in refused.value.faults] == ["/percent"]


def test_a_number_that_can_be_read_in_two_ways_is_asked_back_and_a_small_fraction_is_not():
    form = Form({"area": "1,200", "depth": "0,125"})
    assert form.number("area", low=1) is None
    assert form.number("depth", low=0) == 0.125
    with pytest.raises(RecordNotUsable) as refused:
        form.done()
    (fault,) = refused.value.faults
    assert "write 1200 or 1.2" in fault.detail


@pytest.mark.parametrize("text", ["1.500", "1,500"])
def test_a_weight_with_three_digits_behind_one_mark_is_asked_back_unless_the_form_wrote_it(text):
    form = Form({"weighed_kg": text})
    assert form.number("weighed_kg", low=1) is None
    with pytest.raises(RecordNotUsable) as refused:
        form.done()
    assert "write 1500 or 1.5" in refused.value.faults[0].detail
    assert Form({"area": "1.125"}).number("area", low=1, printed="1.125") == 1.125
    assert Form({"area": text}).number("area", low=1, printed="1500") is None
    with pytest.raises(CellFault):
        read_asked(Column(name="area", label="Area", kind="number"), text)
    assert read_asked(Column(name="a", label="A", kind="number"), "1.500", printed="1.500") == 1.5


@pytest.mark.parametrize("space", [" ", "\u00a0", "\u202f"])
def test_a_space_parts_thousands_and_nothing_else(space):
    assert Form({"room_kg": f"1{space}500"}).number("room_kg", low=0) == 1500
    column = Column(name="area", label="Area", kind="number")
    assert read_asked(column, f"12{space}500,5") == 12500.5
    with pytest.raises(CellFault):
        read_asked(column, f"1{space}50")


def test_every_faulty_field_is_named_at_once_and_an_empty_one_was_not_answered():
    form = Form({"a": " ", "b": "x", "c": "25:00", "d": "\x07"})
    form.text("a", required=True)
    form.choice("b", ("y",))
    form.clock("c", day=NOON.date(), zone=ZoneInfo("Europe/London"))
    form.text("d")
    assert form.number("e", low=0, required=False) is None
    with pytest.raises(RecordNotUsable) as refused:
        form.done()
    assert [fault.pointer for fault in refused.value.faults] == ["/a", "/b", "/c", "/d"]
