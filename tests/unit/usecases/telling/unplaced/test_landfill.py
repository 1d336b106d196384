"""What the register of law says of places: as law only where it binds, else whom to ask."""

from datetime import date

import pytest

from service.rules.here import RulesHere
from service.rules.lookup import Law, LawFacts
from service.usecases.telling.unplaced.landfill import landfill_words
from tests.builders import RULES

DAY = date(2026, 5, 12)


def words(place, day=DAY):
    return landfill_words(RulesHere(RULES, day, place))


@pytest.mark.parametrize("state", ["IL", "MN", "MA", "MI", "WI", "IA", "CT"])
def test_where_a_state_keeps_grass_out_of_landfills_its_clause_is_told(state):
    assert words(f"US-{state}").startswith("The law here keeps grass out of landfills (")


@pytest.mark.parametrize("state", ["IN", "PA"])
def test_a_ban_on_leaves_and_branches_is_no_ban_on_grass(state):
    assert words(f"US-{state}").startswith("The law here does not keep grass out of landfills")


@pytest.mark.parametrize(
    ("place", "whom"),
    [
        ("US-NE", "the Nebraska Department of Environment and Energy"),
        ("US-OH", "the environmental agency of the state"),
        ("PL", "the gmina"),
        ("GB-SCT", "the Scottish Environment Protection Agency"),
    ],
)
def test_what_is_not_known_or_holds_in_a_season_alone_is_no_law_and_somebody_is_named(place, whom):
    assert words(place).startswith(
        f"Whether a landfill may take grass is not known here: ask {whom}"
    )


def test_a_law_of_today_is_not_told_of_a_day_before_it():
    assert "not known here" in words("US-WI", day=date(1992, 12, 31))


@pytest.mark.parametrize("place", ["GB-ENG", "GB-WLS", "GB-NIR"])
def test_a_legal_basis_is_asked_for_by_law_where_the_law_was_read(place):
    ruled = RULES.ruled_on("legal_basis_needed", DAY, LawFacts(jurisdiction=place))
    assert ruled.law is Law.BINDS


@pytest.mark.parametrize("place", ["GB-SCT", "IE", "PL", "DE", "ES", "US-IL"])
def test_it_is_asked_for_as_advice_where_it_was_not(place):
    ruled = RULES.ruled_on("legal_basis_needed", DAY, LawFacts(jurisdiction=place))
    assert ruled.law is not Law.BINDS


def test_a_law_that_something_followed_is_law_for_its_own_days_alone():
    facts = LawFacts(jurisdiction="GB-SCT")
    days = {
        day: RULES.ruled_on("legal_basis_needed", day, facts).law
        for day in (date(2025, 10, 31), DAY)
    }
    assert days[date(2025, 10, 31)] is Law.BINDS
    assert days[DAY] is not Law.BINDS


@pytest.mark.parametrize(("state", "told"), [("IL", False), ("WI", False), ("PA", True)])
def test_what_was_read_through_another_text_says_so(state, told):
    assert ("second hand" in words(f"US-{state}")) is told


@pytest.mark.parametrize(
    ("day", "ground", "law"),
    [
        (date(2026, 5, 12), "farm_holding", Law.BINDS),
        (date(2026, 5, 12), "private_garden", Law.DOES_NOT_BIND),
        (date(2026, 5, 12), None, Law.NOT_KNOWN),
        (date(2022, 5, 12), "farm_holding", Law.DOES_NOT_BIND),
        (date(2022, 5, 12), "farm_holding_in_nitrate_zone", Law.BINDS),
    ],
)
def test_the_nitrogen_of_a_holding_in_wales_is_limited_by_law_since_its_day(day, ground, law):
    facts = LawFacts(jurisdiction="GB-WLS", ground=ground)
    assert RULES.ruled_on("nitrogen_kg_per_ha_year_max", day, facts).law is law
