"""Every number can be traced: keys exist, keys are used, rows are complete, units match names."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.agronomy.compost.mix import Ingredient
from service.agronomy.treatments.waits import LAWN
from service.rules.lookup import Rulebook
from service.rules.treatments import DESTINATIONS
from tests.published.table import checks

SERVICE = Path(__file__).parents[2] / "service"
AGRONOMY = sorted((SERVICE / "agronomy").rglob("*.py"))
CITING = sorted(
    path
    for package in ("agronomy", "core", "destinations", "gateways", "planning", "rules")
    for path in (SERVICE / package).rglob("*.py")
)
RULES = Rulebook.load()
# A key starts with a letter and holds a hyphen; a unit in square brackets such as [kg/m2] does
# not. The code of a type checker's exception does, and is no key.
KEY = re.compile(r"(?<!ignore)\[([a-z][a-z0-9]*(?:-[a-z0-9]+)+)\]")

# What a suffix promises, as the docstring writes it in square brackets.
UNIT_OF_SUFFIX = {
    "kg": "kg",
    "g": "g",
    "mm": "mm",
    "m2": "m2",
    "m3": "m3",
    "litres": "L",
    "hours": "h",
    "days": "d",
    "kg_per_m3": "kg/m3",
    "kg_per_m2": "kg/m2",
    "kg_per_ha": "kg/ha",
    "kg_per_kg": "kg/kg",
    "kg_per_litre": "kg/L",
    "g_per_m2": "g/m2",
    "litres_per_m2": "L/m2",
    "km_per_h": "km/h",
    "kpa": "kPa",
    "c": "C",
}
LONGEST_FIRST = sorted(UNIT_OF_SUFFIX, key=len, reverse=True)


def cited(path: Path) -> set[str]:
    return set(KEY.findall(path.read_text(encoding="utf-8")))


def keys_of_rules() -> set[str]:
    found: set[str] = set()
    for rule in RULES.rules.values():
        for row in rule.rows:
            found |= set(row.sources)
    for material in RULES.materials.values():
        found |= set(material.sources)
    for wait in (*RULES.treatments.waits, *RULES.treatments.kept):
        found |= set(wait.sources)
    found |= {one.cas_source for one in RULES.treatments.substances.values() if one.cas_source}
    return found | RULES.places.sources


@pytest.mark.parametrize("path", CITING, ids=lambda path: str(path.relative_to(SERVICE)))
def test_every_key_a_docstring_cites_exists(path: Path) -> None:
    assert cited(path) - set(RULES.sources) == set()


def test_every_source_is_used() -> None:
    used = keys_of_rules() | {check.source for check in checks()}
    for path in [*CITING, *(Path(__file__).parents[1] / "published").glob("*.py")]:
        used |= cited(path)
    for page in (SERVICE / "agronomy").rglob("*.md"):
        used |= set(re.findall(r"`([a-z0-9-]+)`", page.read_text(encoding="utf-8")))
    assert set(RULES.sources) - used == set()


def test_every_rule_is_read_by_the_service() -> None:
    code = "\n".join(path.read_text(encoding="utf-8") for path in SERVICE.rglob("*.py"))
    assert set(RULES.rules) - set(re.findall(r"\w+", code)) == set()


def test_every_row_says_where_in_its_source_and_what_it_is_about() -> None:
    for rule in RULES.rules.values():
        for row in rule.rows:
            assert row.unit in RULES.units
            assert row.scope.strip()
            assert row.where.strip()
            assert row.source in RULES.sources


def test_every_unit_of_the_closed_list_is_used() -> None:
    used = {row.unit for rule in RULES.rules.values() for row in rule.rows}
    assert set(RULES.units) - used == set()


def test_what_rests_on_common_practice_alone_never_claims_to_be_law() -> None:
    for rule in RULES.rules.values():
        for row in rule.rows:
            if row.sources == ("common-practice",):
                assert row.kind in {"advice", "measured"}, (rule.name, row.case)
                assert row.standing == "practice", (rule.name, row.case)


def test_a_rule_by_grass_kind_covers_every_combination_of_its_words() -> None:
    # An estimate must never fail for a kind and season nobody wrote a row for.
    for rule in (rule for rule in RULES.rules.values() if "grass_kind" in rule.by):
        cases = {row.case for row in rule.rows}
        combinations = 1
        for key in rule.by:
            combinations *= len(RULES.words_of(rule.name, key))
        assert len(cases) == combinations, rule.name


def test_every_substance_has_a_wait_for_every_kind_of_destination() -> None:
    held = {
        (wait.substance, wait.destination)
        for wait in RULES.treatments.waits
        if wait.jurisdiction is None
    }
    wanted = {
        (name, destination) for name in RULES.treatments.substances for destination in DESTINATIONS
    }
    assert held == wanted


def test_no_wait_is_asked_of_clippings_left_where_they_were_cut() -> None:
    for wait in RULES.treatments.waits:
        if wait.destination == LAWN:
            assert (wait.days, wait.mowings, wait.never) == (0, 0, False)


def test_a_food_bed_never_waits_shorter_than_an_ornamental_one() -> None:
    waits = {
        (wait.substance, wait.destination): wait
        for wait in RULES.treatments.waits
        if wait.jurisdiction is None
    }
    for name in RULES.treatments.substances:
        bed, food = waits[name, "bed"], waits[name, "edible_bed"]
        assert (food.never, food.days, food.mowings) >= (bed.never, bed.days, bed.mowings)


NO_PLANT_PROTECTION = {"fertiliser", "soil improver", "seed", "biological control"}


def test_a_cas_number_carries_its_check_digit() -> None:
    # The last digit is the sum of the others, weighted by place from the right, modulo 10.
    for substance in RULES.treatments.substances.values():
        # Lime and the like are kinds of product, and no substance of one number.
        assert bool(substance.cas) != (substance.group in NO_PLANT_PROTECTION), substance.name
        for number in (substance.cas, *substance.also_called):
            if not re.fullmatch(r"\d{2,7}-\d{2}-\d", number):
                assert not number or number != substance.cas
                continue
            digits = number.replace("-", "")
            total = sum(
                place * int(digit) for place, digit in enumerate(reversed(digits[:-1]), start=1)
            )
            assert total % 10 == int(digits[-1]), (substance.name, number)


def test_no_material_of_the_library_has_more_carbon_than_a_plant() -> None:
    # Half of the dry matter is what plants have (cellulose 44 %, lignin 60 to 65 %), less their
    # ash; the hard limit of a mix is higher, for materials people type in.
    for row in RULES.materials.values():
        material = Ingredient(
            name=row.name,
            moisture=row.moisture.likely,
            nitrogen_fraction=row.nitrogen_fraction.likely,
            carbon_to_nitrogen=row.carbon_to_nitrogen.likely,
            bulk_density_kg_per_m3=row.bulk_density_kg_per_m3.likely,
        )
        assert 0.38 <= material.carbon_fraction <= 0.50, row.name


def documented_arguments() -> Iterator[tuple[str, str, str]]:
    """Yield module, name and text of every documented argument or field of the science."""
    for path in AGRONOMY:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.FunctionDef | ast.ClassDef):
                continue
            yield from (
                (f"{path.stem}.{node.name}", name, text)
                for name, text in parameters_of(ast.get_docstring(node) or "")
            )


def parameters_of(docstring: str) -> Iterator[tuple[str, str]]:
    section = re.search(r"Parameters\n-+\n(.*?)(?=\n\n[A-Z]\w+\n-+\n|\Z)", docstring, re.DOTALL)
    if section is None:
        return
    for found in re.finditer(
        r"^(\w+(?:, \w+)*)\n((?:(?: +.*)?\n?)*)", section.group(1), re.MULTILINE
    ):
        for name in found.group(1).split(", "):
            yield name, found.group(2)


def units_in(text: str) -> set[str]:
    return {unit for bracket in re.findall(r"\[([^\]]*)\]", text) for unit in bracket.split(", ")}


def suffix_of(name: str) -> str | None:
    """Return the unit suffix of a name; of a rate only if the whole rate is known."""
    stem = re.sub(r"_(min|max|low|high|since|left)$", "", name)
    found = next((suffix for suffix in LONGEST_FIRST if f"_{stem}".endswith(f"_{suffix}")), None)
    if found == stem and "_per_" not in stem:
        return None
    return None if found and "_per_" in stem and "_per_" not in found else found


def test_the_unit_in_a_name_is_the_unit_in_its_docstring() -> None:
    wrong = [
        f"{where}({name}): [{UNIT_OF_SUFFIX[suffix]}]"
        for where, name, text in documented_arguments()
        if (suffix := suffix_of(name)) is not None
        and "[" in text
        and UNIT_OF_SUFFIX[suffix] not in units_in(text)
    ]
    assert wrong == []


def test_every_argument_with_a_unit_in_its_name_states_the_unit() -> None:
    silent = [
        f"{where}({name})"
        for where, name, text in documented_arguments()
        if suffix_of(name) is not None and "[" not in text
    ]
    assert silent == []


# Words that say where a number comes from when no source prints it.
ORIGIN = re.compile(
    r"common practice|by definition|exact|rounding|floating point|from memory|range",
    re.IGNORECASE,
)
UNIT_STEP = re.compile(r"_PER_[A-Z0-9]+$")


def constants() -> Iterator[tuple[str, str, str]]:
    """Yield module, name and the words beside every number kept at the top of the science."""
    for path in AGRONOMY:
        text = path.read_text(encoding="utf-8")
        lines = text.splitlines()
        doc = ast.get_docstring(ast.parse(text)) or ""
        for node in ast.parse(text).body:
            if not isinstance(node, ast.AnnAssign) or node.value is None:
                continue
            numbers = [
                leaf
                for leaf in ast.walk(node.value)
                if isinstance(leaf, ast.Constant) and isinstance(leaf.value, int | float)
            ]
            if not numbers or not isinstance(node.target, ast.Name):
                continue
            # A comment speaks for all the constants below it, down to the next empty line.
            first = node.lineno - 2
            while first >= 0 and lines[first].strip():
                first -= 1
            beside = " ".join([*lines[first + 1 : node.end_lineno], doc])
            yield path.stem, node.target.id, beside


def test_every_constant_of_the_science_says_where_it_comes_from() -> None:
    silent = [
        f"{module}.{name}"
        for module, name, beside in constants()
        if not (KEY.search(beside) or ORIGIN.search(beside) or UNIT_STEP.search(name))
    ]
    assert silent == []


def test_whom_to_ask_has_a_source_that_exists() -> None:
    assert set(RULES.sources) >= RULES.places.sources
