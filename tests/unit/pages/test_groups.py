"""A form asks first what every record needs; nothing that is said in it is hidden."""

import pytest

from service.pages.setup.groups import groups_of
from service.pages.setup.sheets import SHEETS

BEDS = SHEETS["beds"]


def opened(cells=None, faulty=()):
    return {
        name
        for group in groups_of(BEDS.columns, cells or {}, set(faulty))
        if group.title and group.is_open
        for name in (column.name for column in group.columns)
    }


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_field_is_asked_once_and_what_is_required_first(sheet):
    groups = groups_of(sheet.columns, {}, ())
    asked = [column.name for group in groups for column in group.columns]
    assert sorted(asked) == sorted(column.name for column in sheet.columns)
    assert groups[0].title == ""
    later = [column for group in groups[1:] for column in group.columns]
    assert [column.name for column in later if column.required] == []


def test_that_there_are_no_animals_stands_beside_a_title_and_opens_nothing():
    none = {"animals": "none", "animals_beside": "none"}
    (group,) = [one for one in groups_of(BEDS.columns, none, ()) if "Animals" in one.title]
    assert (group.is_open, group.said) == (False, "none")
    assert "animals" in opened({**none, "animals_beside": "horses"})


def test_of_an_empty_form_nothing_is_open():
    assert opened() == set()


def test_a_value_or_a_fault_opens_its_group_and_no_other():
    assert "reference" in opened({"reference": "EX 1"})
    assert "visit_max_kg" not in opened({"reference": "EX 1"})
    assert "month_max_kg" in opened(faulty=["month_max_kg"])
    assert "reference" not in opened(faulty=["month_max_kg"])


def test_without_what_it_asks_first_a_bed_takes_nothing():
    """Consent, legal ground, drainage and how near water is: unsaid, each closes a bed."""
    first = {column.name for column in groups_of(BEDS.columns, {}, ())[0].columns}
    assert first >= {"consent", "legal_basis", "drainage", "water_distance_m", "well_distance_m"}
