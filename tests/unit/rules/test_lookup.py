import datetime
from pathlib import Path

import pytest

from service.rules.faults import RulebookBroken
from service.rules.lookup import Kind, Rulebook, RuleNotInForce, RuleUnknown

DAY = datetime.date(2026, 6, 1)
SOURCES = '[a-source]\nauthor = "A"\ntitle = "T"\naddress = "here"\nseen = 2026-01-01\n'
TREATMENTS = "substances = []\nwaits = []\n"
UNITS = '[units]\n"mm" = "millimetres"\n'
ROW = '[[depth.values]]\nfrom = 2020-01-01\nvalue = 12.7\nsource = "a-source"\nwhere = "p. 1"\n'
RULE = '[depth]\nunit = "mm"\nkind = "advice"\nscope = "a layer"\n'


def book(folder: Path, rules: str) -> Rulebook:
    for name, text in {
        "sources": SOURCES,
        "treatments": TREATMENTS,
        "materials": "materials = []\n",
        "units": UNITS,
        "rules": rules,
    }.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return Rulebook.load(folder)


@pytest.mark.parametrize(
    ("lacking", "line"),
    [
        ("unit", 'unit = "mm"\n'),
        ("scope", 'scope = "a layer"\n'),
        ("kind", 'kind = "advice"\n'),
        ("source", 'source = "a-source"\n'),
        ("where", 'where = "p. 1"\n'),
        ("from", "from = 2020-01-01\n"),
        ("value", "value = 12.7\n"),
    ],
)
def test_a_rule_without_what_it_rests_on_is_not_read(
    tmp_path: Path, lacking: str, line: str
) -> None:
    with pytest.raises(RulebookBroken, match=lacking):
        book(tmp_path, (RULE + ROW).replace(line, ""))


@pytest.mark.parametrize(
    "rules",
    [
        (RULE + ROW).replace('"a-source"', '"nobody"'),
        (RULE + ROW).replace('unit = "mm"', 'unit = "inch"'),
        (RULE + ROW).replace("value = 12.7", "value = nan"),
        (RULE + ROW).replace("value = 12.7", "low = 3\nlikely = 2\nhigh = 4"),
        (RULE + ROW).replace("value = 12.7", "value = 3\nlow = 2"),
        (RULE + ROW).replace("value = 12.7", "value = true"),
        (RULE + ROW).replace("value = 12.7", "value = 3\ncolour = 2"),
        RULE + ROW + ROW,
    ],
    ids=["source", "unit", "nan", "order", "both", "boolean", "unknown key", "two rows"],
)
def test_a_faulty_row_is_not_read(tmp_path: Path, rules: str) -> None:
    with pytest.raises(RulebookBroken):
        book(tmp_path, rules)


def test_a_day_before_the_first_row_has_no_value(tmp_path: Path) -> None:
    with pytest.raises(RuleNotInForce, match="2019-12-31"):
        book(tmp_path, RULE + ROW).value_on("depth", datetime.date(2019, 12, 31))


def test_a_closed_row_does_not_hold_after_its_last_day(tmp_path: Path) -> None:
    rulebook = book(tmp_path, RULE + ROW + "until = 2021-12-31\n")
    assert rulebook.value_on("depth", datetime.date(2021, 12, 31)).value == 12.7
    with pytest.raises(RuleNotInForce):
        rulebook.value_on("depth", datetime.date(2022, 1, 1))


def test_a_new_row_leaves_the_old_days_as_they_were(tmp_path: Path) -> None:
    newer = ROW.replace("2020", "2024").replace("12.7", "10.0")
    rulebook = book(tmp_path, RULE + newer + ROW)
    assert rulebook.value_on("depth", datetime.date(2023, 12, 31)).value == 12.7
    assert rulebook.value_on("depth", datetime.date(2024, 1, 1)).value == 10.0


def test_the_narrowest_place_wins(tmp_path: Path) -> None:
    place = ROW + 'jurisdiction = "US"\n', ROW + 'jurisdiction = "US-IL"\n'
    rules = RULE + ROW + place[0].replace("12.7", "11") + place[1].replace("12.7", "10")
    rulebook = book(tmp_path, rules)
    places = (None, "GB-ENG", "US-NY", "US", "US-IL")
    assert [rulebook.value_on("depth", DAY, jurisdiction=place).value for place in places] == [
        12.7,
        12.7,
        11,
        11,
        10,
    ]


def test_a_changed_rule_file_changes_the_version(tmp_path: Path) -> None:
    first = book(tmp_path, RULE + ROW).version
    assert first == book(tmp_path, RULE + ROW).version
    assert first != book(tmp_path, RULE + ROW.replace("12.7", "12.8")).version


def test_what_a_value_rests_on_is_said_with_its_estimate(tmp_path: Path) -> None:
    told = book(tmp_path, RULE + ROW + 'rests_on = "weighed heaps"\n')
    assert told.value_on("depth", DAY).estimate.basis == "depth; rests on weighed heaps"


def test_a_rule_that_does_not_exist_is_refused_by_name() -> None:
    with pytest.raises(RuleUnknown, match="no_such_rule"):
        Rulebook.load().value_on("no_such_rule", DAY)


def test_a_case_that_is_left_out_is_refused() -> None:
    with pytest.raises(RuleNotInForce):
        Rulebook.load().value_on("clipping_moisture", DAY)


def test_the_english_yearly_limit_is_law_in_england_and_advice_elsewhere() -> None:
    rulebook = Rulebook.load()
    name = "plant_matter_kg_per_m2_year_max"
    assert rulebook.value_on(name, DAY, jurisdiction="GB-ENG").kind is Kind.LAW
    assert rulebook.value_on(name, DAY, jurisdiction="US-OH").kind is Kind.ADVICE


def test_words_of_a_case_hold_unknown() -> None:
    rulebook = Rulebook.load()
    for name, case in (
        ("clipping_moisture", "wetness"),
        ("bulk_density_kg_per_m3", "packing"),
        ("sward_density_g_per_m2_mm", "grass_kind"),
    ):
        assert "unknown" in rulebook.words_of(name, case)
