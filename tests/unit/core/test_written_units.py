import pytest

from service.core.measures.units import UNITS, Quantity
from service.core.measures.written_units import UnitNotRead, parted


@pytest.mark.parametrize(
    ("text", "number", "code"),
    [
        ("1200 lb", "1200", "[lb_av]"),
        ("1,200lbs.", "1,200", "[lb_av]"),
        ("2 Short  Tons", "2", "[ston_av]"),
        ("0,5 t", "0,5", "t"),
        ("1 200 kg", "1 200", "kg"),
    ],
)
def test_a_mass_is_read_in_the_unit_that_is_written_behind_it(text, number, code):
    assert parted(text, Quantity.MASS) == (number, UNITS[code])


@pytest.mark.parametrize(
    ("text", "code"), [("4 yd³", "[cyd_i]"), ("4 cu. yd.", "[cyd_i]"), ("3,5 m3", "m3")]
)
def test_a_volume_is_read_however_its_cube_is_written(text, code):
    assert parted(text, Quantity.VOLUME)[1] == UNITS[code]


@pytest.mark.parametrize("text", ['1"', "1 in", "1 inch", "1″"])
def test_an_inch_is_read_by_its_word_and_by_its_mark(text):
    assert parted(text, Quantity.LENGTH) == ("1", UNITS["[in_i]"])


def test_a_number_alone_says_no_unit():
    assert parted(" 1,200 ", Quantity.MASS)[1] is None


@pytest.mark.parametrize("text", ["2 tons", "2 ton", "3 cwt", "4 m3", "5 stone"])
def test_a_ton_of_nobody_knows_which_and_a_unit_of_something_else_are_not_read(text):
    with pytest.raises(UnitNotRead) as fault:
        parted(text, Quantity.MASS)
    assert {"kg", "lb", "t", "short ton"} <= set(fault.value.allowed)
