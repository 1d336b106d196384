import datetime
import shutil
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import pytest

from service.rules.faults import RulebookBroken
from service.rules.lookup import Rulebook, RuleUnknown

SHIPPED = Path(str(resources.files("service.rules")))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for path in SHIPPED.glob("*.toml"):
        shutil.copy(path, tmp_path)
    return tmp_path


def spoilt(folder: Path, name: str, change: Callable[[str], str]) -> None:
    path = folder / f"{name}.toml"
    before = path.read_text(encoding="utf-8")
    after = change(before)
    assert after != before
    path.write_text(after, encoding="utf-8")


def replaced(old: str, new: str) -> Callable[[str], str]:
    return lambda text: text.replace(old, new, 1)


MATERIAL = '\n[[materials]]\nname = "x"\nrole = "brown"\n'
CELL = '{ low = 1, likely = 2, high = 3, source = "alberta-materials", where = "p" }'
WAIT = (
    '\n[[waits]]\nsubstances = ["MCPA"]\ndestinations = ["bed"]\nfrom = 2030-01-01\n'
    'source = "common-practice"\nwhere = "w"\nscope = "s"\nkind = "advice"\n'
)


@pytest.mark.parametrize(
    ("name", "change", "fault"),
    [
        ("sources", replaced("[common-practice]\nauthor", "[common-practice]\nwriter"), "unknown"),
        ("sources", replaced('standing = "practice"', 'standing = "rumour"'), "rumour"),
        ("sources", replaced('title = "Common practice, no source"\n', ""), "no title"),
        ("sources", replaced("seen = 2026-11-25\n", ""), "no address and day"),
        ("materials", lambda text: text + MATERIAL + 'colour = "red"\n', "unknown keys"),
        ("materials", replaced('role = "green"', 'role = "blue"'), "role"),
        ("materials", replaced("low = 0.025,", ""), "low, likely and high"),
        ("materials", replaced('source = "turgeon-1979"', 'source = "nobody"'), "listed source"),
        ("materials", replaced('also = ["mu-g6958"', 'also = ["nobody"'), "not in sources"),
        (
            "materials",
            lambda text: (
                text
                + MATERIAL.replace('"x"', '"straw"')
                + "".join(
                    f"{name} = {CELL}\n"
                    for name in (
                        "nitrogen_fraction",
                        "carbon_to_nitrogen",
                        "moisture",
                        "bulk_density_kg_per_m3",
                    )
                )
            ),
            "twice",
        ),
        ("treatments", replaced('"MCPP"', '"dicamba"'), "two substances"),
        ("treatments", lambda text: text + WAIT + "days = 1\ncolour = 1\n", "unknown keys"),
        ("treatments", lambda text: text + WAIT, "neither days"),
        (
            "treatments",
            lambda text: text + WAIT.replace('where = "w"\n', "") + "days = 1\n",
            "no where",
        ),
        (
            "treatments",
            lambda text: text + WAIT.replace('["bed"]', '["roof"]') + "days = 1\n",
            "not listed",
        ),
    ],
)
def test_a_table_with_a_fault_is_not_read(
    folder: Path, name: str, change: Callable[[str], str], fault: str
) -> None:
    spoilt(folder, name, change)
    with pytest.raises(RulebookBroken, match=fault):
        Rulebook.load(folder)


def test_a_missing_table_is_named(folder: Path) -> None:
    (folder / "materials.toml").unlink()
    with pytest.raises(RulebookBroken, match=r"materials\.toml"):
        Rulebook.load(folder)


def test_a_rule_defined_in_two_files_is_refused(folder: Path) -> None:
    shutil.copy(folder / "beds.toml", folder / "more.toml")
    with pytest.raises(RulebookBroken, match="two files"):
        Rulebook.load(folder)


def test_a_rule_with_a_key_nobody_reads_is_refused(folder: Path) -> None:
    spoilt(folder, "beds", replaced('unit = "mm"', 'unit = "mm"\nunits = "mm"'))
    with pytest.raises(RulebookBroken, match="units"):
        Rulebook.load(folder)


def test_the_shipped_folder_read_from_its_path_is_the_shipped_rulebook(folder: Path) -> None:
    assert Rulebook.load(folder).version == Rulebook.load().version


def test_words_of_a_case_a_rule_does_not_have_are_refused() -> None:
    with pytest.raises(RuleUnknown, match="colour"):
        Rulebook.load().words_of("clipping_moisture", "colour")


def test_a_material_names_all_its_sources_once() -> None:
    row = Rulebook.load().materials["sawdust"]
    assert list(row.sources) == sorted(set(row.sources))
    assert "alberta-materials" in row.sources


def test_a_wait_that_has_ended_holds_no_longer(folder: Path) -> None:
    ended = WAIT.replace("2030-01-01", "2031-01-01\nuntil = 2031-12-31") + "days = 99\n"
    spoilt(folder, "treatments", lambda text: text + ended)
    table = Rulebook.load(folder).treatments

    def days(year: int) -> int:
        rows = table.waits_on("MCPA", datetime.date(year, 6, 1))
        return next(row.days for row in rows if row.destination == "bed")

    assert (days(2030), days(2031), days(2032)) == (16, 99, 16)
