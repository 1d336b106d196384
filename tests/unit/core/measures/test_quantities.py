import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.measures.quantities import (
    UNITS,
    BelowAbsoluteZero,
    Measure,
    Quantity,
    UnitOfAnotherQuantity,
    UnitUnknown,
    ValueNotANumber,
    codes_of,
    from_si,
    measure,
    rate_to_si,
    to_si,
)


def test_a_bare_ton_is_refused_and_the_answer_names_all_three() -> None:
    with pytest.raises(UnitUnknown) as refused:
        measure(1.0, "ton", quantity=Quantity.MASS)
    for code in ("t", "[ston_av]", "[lton_av]"):
        assert code in str(refused.value)


def test_the_three_tons_are_three_masses() -> None:
    masses_kg = {code: to_si(1.0, code) for code in ("[ston_av]", "t", "[lton_av]")}
    assert masses_kg["[ston_av]"] < masses_kg["t"] < masses_kg["[lton_av]"]


@pytest.mark.parametrize("value", [True, False, "3", None, math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_is_no_measure(value: object) -> None:
    with pytest.raises(ValueNotANumber):
        Measure(value=value, unit="kg")  # type: ignore[arg-type]  # the wrong type is the test


def test_a_mass_in_square_feet_is_refused() -> None:
    with pytest.raises(UnitOfAnotherQuantity):
        measure(5.0, "[sft_i]", quantity=Quantity.MASS)


def test_colder_than_absolute_zero_is_refused() -> None:
    with pytest.raises(BelowAbsoluteZero):
        to_si(-460.0, "[degF]")


def test_a_density_per_degree_is_refused() -> None:
    with pytest.raises(UnitOfAnotherQuantity):
        rate_to_si(1.0, numerator="kg", denominator="Cel")


def test_a_measure_keeps_what_was_entered_beside_the_si_value_and_its_factor() -> None:
    entered = measure(4500.0, "[sft_i]", quantity=Quantity.AREA)
    assert (entered.value, entered.unit, entered.si_unit) == (4500.0, "[sft_i]", "m2")
    assert entered.si_value == pytest.approx(4500.0 * entered.factor)


def test_every_quantity_has_its_si_unit_among_its_codes() -> None:
    for quantity in Quantity:
        assert any(to_si(1.0, code) == 1.0 for code in codes_of(quantity))


@given(st.sampled_from(sorted(UNITS)), st.floats(min_value=0.0, max_value=1e9))
def test_converting_there_and_back_gives_the_value_entered(code: str, value: float) -> None:
    assert from_si(to_si(value, code), code) == pytest.approx(value, rel=1e-12, abs=1e-9)
