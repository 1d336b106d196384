"""What is at a place is kept in one row: what all lots there add up to, to the last digit."""

import random
from dataclasses import replace
from uuid import UUID, uuid4

import pytest
from sqlalchemy import text

from service.core.mass_book import AMOUNTS, Amounts, MassBalance
from service.storage.migrations import downgrade, upgrade
from tests.effort import examples

BEFORE_THE_SUMS = "0041"
PLACES = [("bed", UUID(int=1)), ("bed", UUID(int=2)), ("compost_site", UUID(int=1))]


def drawn(rng, firm_id, lot_id):
    """Return what is drawn of a lot at some of the places, as numbers are that add up badly."""
    return [
        MassBalance(
            firm_id=firm_id,
            place_kind=kind,
            place_id=place_id,
            lot_id=lot_id,
            **{name: rng.choice([0.1, 1 / 3, 1e5, -0.7]) * rng.random() for name in AMOUNTS},
        )
        for kind, place_id in rng.sample(PLACES, rng.randint(0, len(PLACES)))
    ]


def added_up(kept):
    """Return what the balances add up to at each place, in billionths as they are kept."""
    places = {}
    for one in (one for some in kept.values() for one in some):
        sums = places.setdefault((one.place_kind, one.place_id), dict.fromkeys(AMOUNTS, 0))
        for name in AMOUNTS:
            sums[name] += round(getattr(one, name) * 1e9)
    return [
        (*place, Amounts(**{name: amount / 1e9 for name, amount in sums.items()}))
        for place, sums in sorted(places.items())
    ]


@pytest.mark.parametrize("seed", range(examples(12)))
def test_whatever_was_written_over_what_the_sums_are_those_of_the_lots(open_unit, books, seed):
    rng = random.Random(seed)  # noqa: S311 - drawn the same in every run
    firm_id, lots, kept = books.firm.id, [uuid4() for _ in range(8)], {}
    for _ in range(30):
        some = rng.sample(lots, rng.randint(1, 3))
        fresh = not any(lot in kept for lot in some)
        balances = [one for lot in some for one in drawn(rng, firm_id, lot)]
        with open_unit() as unit:
            unit.mass_balances.put(firm_id, some, balances, fresh=fresh)
            unit.commit()
        kept |= {lot: [one for one in balances if one.lot_id == lot] for lot in some}
    with open_unit() as unit:
        found = unit.mass_balances.totals(firm_id)
        assert found == added_up(kept)
        assert unit.mass_balances.totals_anew(firm_id) == found
        assert unit.mass_balances.totals(uuid4()) == []
        beds = unit.mass_balances.totals(firm_id, "bed")
    assert beds == [one for one in found if one[0] == "bed"]


@pytest.fixture
def balance(books):
    """Return three kilograms of a lot on a bed."""
    amounts = dict.fromkeys(AMOUNTS, 3.0)
    lot_id = books.jobs.id
    return MassBalance(
        firm_id=books.firm.id, place_kind="bed", place_id=uuid4(), lot_id=lot_id, **amounts
    )


def test_what_left_a_place_to_the_last_lot_is_not_told_of_it(open_unit, balance):
    firm_id, lots = balance.firm_id, [balance.lot_id]
    with open_unit() as unit:
        unit.mass_balances.put(firm_id, lots, [balance], fresh=True)
        unit.mass_balances.put(firm_id, lots, [])
        assert unit.mass_balances.totals(firm_id) == []


def test_a_transaction_that_is_given_up_leaves_the_sums_as_they_were(open_unit, balance):
    with open_unit() as unit:
        unit.mass_balances.put(balance.firm_id, [balance.lot_id], [balance], fresh=True)
    with open_unit() as unit:
        assert unit.mass_balances.totals(balance.firm_id) == []


def test_sums_that_went_wrong_are_written_anew(open_unit, engine, balance):
    firm_id = balance.firm_id
    with open_unit() as unit:
        unit.mass_balances.put(firm_id, [balance.lot_id], [balance], fresh=True)
        unit.commit()
    with engine.begin() as connection:
        connection.execute(text("UPDATE place_sums SET counted_kg = 7, lots = 9"))
    with open_unit() as unit:
        assert unit.mass_balances.totals(firm_id) != unit.mass_balances.totals_anew(firm_id)
        unit.mass_balances.keep_totals_anew(firm_id)
        unit.commit()
    with open_unit() as unit:
        assert unit.mass_balances.totals(firm_id) == unit.mass_balances.totals_anew(firm_id)
        unit.mass_balances.put(firm_id, [balance.lot_id], [])
        assert unit.mass_balances.totals(firm_id) == []


def test_telling_every_place_reads_one_row_of_each_however_many_lots(
    open_unit, balance, statements
):
    firm_id = balance.firm_id
    lots = [replace(balance, lot_id=uuid4()) for _ in range(300)]
    with open_unit() as unit:
        unit.mass_balances.put(firm_id, [one.lot_id for one in lots], lots, fresh=True)
        statements.clear()
        ((_, _, amounts),) = unit.mass_balances.totals(firm_id)
    assert amounts.counted_kg == pytest.approx(900.0)
    assert len(statements) == 1
    assert "mass_balances" not in statements[0]


def test_what_was_kept_before_the_sums_is_in_them(open_unit, engine, balance, database_url):
    with open_unit() as unit:
        unit.mass_balances.put(balance.firm_id, [balance.lot_id], [balance], fresh=True)
        unit.commit()
        before = unit.mass_balances.totals(balance.firm_id)
    engine.dispose()
    downgrade(database_url, BEFORE_THE_SUMS)
    upgrade(database_url)
    with open_unit() as unit:
        assert unit.mass_balances.totals(balance.firm_id) == before
    ((_, place_id, amounts),) = before
    assert (place_id, amounts.mass_high_kg) == (balance.place_id, 3.0)
