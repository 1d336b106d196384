import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from service.planning.arrays import machine_code

ROOT = Path(__file__).parents[4]
ASK = """
from service.planning.arrays.travel import seconds_of
assert seconds_of(3.0, 4.0) == 45
print(sum(seconds_of.stats.cache_hits.values()), sum(seconds_of.stats.cache_misses.values()))
"""
FOUND, COMPILED = "1 0", "0 1"


def no_byte_code(*_: object) -> set[str]:
    return {"__pycache__"}


def copied(folder: Path) -> Path:
    """Return another checkout with the same sources, written at another time."""
    wanted = folder / "service" / "planning"
    shutil.copytree(ROOT / "service" / "planning", wanted, ignore=no_byte_code)
    shutil.copytree(ROOT / "service" / "core", folder / "service" / "core", ignore=no_byte_code)
    shutil.copy(ROOT / "service" / "__init__.py", folder / "service")
    for file in wanted.rglob("*.py"):
        os.utime(file, (1e9, 1e9))
    return folder


def asked(checkout: Path, **kept: Path) -> str:
    """Return whether a function was found and how often compiled, in a process of its own."""
    places = {machine_code.VARIABLE: kept["first"], "XDG_CACHE_HOME": kept["user"]}
    environment = {**os.environ, **{name: str(path) for name, path in places.items()}}
    environment.pop("NUMBA_DISABLE_JIT", None)
    run = subprocess.run(
        [sys.executable, "-c", ASK],
        cwd=checkout,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    return run.stdout.strip()


@pytest.fixture
def places(tmp_path: Path) -> dict[str, Path]:
    return {"first": tmp_path / "first", "user": tmp_path / "user"}


@pytest.fixture(scope="module")
def compiled_here(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder into which a process of this checkout compiled."""
    folder = tmp_path_factory.mktemp("compiled")
    assert asked(ROOT, first=folder / "first", user=folder / "user") == COMPILED
    return folder / "first"


@pytest.fixture
def filled(places: dict[str, Path], compiled_here: Path) -> dict[str, Path]:
    """Return places of which the first holds what this checkout compiled."""
    shutil.copytree(compiled_here, places["first"])
    return places


def test_another_checkout_with_the_same_sources_finds_what_was_compiled(
    tmp_path: Path, filled: dict[str, Path]
) -> None:
    assert asked(copied(tmp_path / "copy"), **filled) == FOUND


def test_a_changed_constant_in_a_module_that_is_imported_is_compiled_again(
    tmp_path: Path, filled: dict[str, Path]
) -> None:
    checkout = copied(tmp_path / "copy")
    with (checkout / "service" / "planning" / "arrays" / "inputs.py").open("a") as file:
        file.write("\nLATE_STEPS = 241\n")
    assert asked(checkout, **filled) == COMPILED


def test_a_spoilt_file_is_compiled_again(filled: dict[str, Path]) -> None:
    (file,) = filled["first"].iterdir()
    file.write_bytes(file.read_bytes()[:100])
    assert asked(ROOT, **filled) == COMPILED
    assert asked(ROOT, **filled) == FOUND


def test_code_from_a_folder_that_others_can_write_to_is_not_run(filled: dict[str, Path]) -> None:
    filled["first"].chmod(0o777)
    assert asked(ROOT, **filled) == COMPILED
    assert [file.parent.name for file in filled["user"].rglob("*.code")] == ["machine-code"]


def test_a_file_that_others_can_write_to_is_not_run(filled: dict[str, Path]) -> None:
    (file,) = filled["first"].iterdir()
    file.chmod(0o666)
    assert asked(ROOT, **filled) == COMPILED


def test_a_folder_of_somebody_else_is_not_trusted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "theirs"
    folder.mkdir(mode=0o755)
    assert machine_code.is_trusted(folder)
    monkeypatch.setattr(machine_code, "ROOT", -1)
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    assert not machine_code.is_trusted(folder)


def test_a_folder_below_one_that_others_can_write_to_is_not_trusted(tmp_path: Path) -> None:
    above = tmp_path / "above"
    (above / "folder").mkdir(parents=True)
    assert machine_code.is_trusted(above / "folder")
    above.chmod(0o777)
    assert not machine_code.is_trusted(above / "folder")


def test_the_user_s_own_folder_is_shut_to_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv(machine_code.VARIABLE, "/dev/null/nowhere")
    folder = machine_code.writable_folder()
    assert folder == tmp_path / "clipping-dispatch" / "machine-code"
    assert folder.stat().st_mode & 0o077 == 0


def test_who_fills_a_folder_for_others_puts_into_it_what_its_own_has_already(
    places: dict[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(machine_code.VARIABLE, raising=False)
    monkeypatch.setattr(machine_code, "FOR_EVERYBODY", places["first"] / "nowhere")
    monkeypatch.setenv("XDG_CACHE_HOME", str(places["user"]))
    assert machine_code.keep("one", b"code")
    monkeypatch.setenv(machine_code.VARIABLE, str(places["first"]))
    assert machine_code.read("one") == b"code"
    assert not (places["first"] / "one").exists()
    monkeypatch.setattr(machine_code, "_GATHERING", machine_code.Gathering())
    machine_code.gather()
    assert not machine_code.is_kept("one")
    assert machine_code.read("one") == b"code"
    assert (places["first"] / "one").read_bytes() == b"code"
    assert machine_code.is_kept("one")


def test_where_nothing_can_be_written_nothing_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", "/dev/null/no home")
    monkeypatch.setenv(machine_code.VARIABLE, "/dev/null/nowhere")
    assert machine_code.writable_folder() is None
    assert not machine_code.keep("name", b"content")
    assert machine_code.read("name") is None


SEARCHED = """
from service.planning import warm
from service.planning.arrays.compiled import registered
before = len(registered())
warm.solve(warm.Problem.from_json(warm.one_job()))
print(len(registered()) - before)
"""


def test_a_process_that_starts_knows_all_that_a_whole_search_will_need() -> None:
    # The mark of what is kept is named after it: one that grows while planning is never found.
    run = subprocess.run(
        [sys.executable, "-c", SEARCHED],
        cwd=ROOT,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.strip() == "0"
