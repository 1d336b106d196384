"""What the tools cannot be told to look for."""

import ast
import re
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, packages_distributions, requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests import layout

TOP = Path(__file__).parents[2]
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]
RUNTIME, EVERYTHING, BUILD = "requirements.lock", ".requirements-dev.lock", "docker/build.lock"
MODULES = sorted(
    path for folder in ("service", "tests", "migrations") for path in (TOP / folder).rglob("*.py")
)
LONGEST_MODULE_LINES = 300
MOST_MODULES_IN_A_FOLDER = 20

# One entry of a lock: name==version, perhaps a marker, then its hashes.
ENTRY = re.compile(
    r"^(?P<requirement>[A-Za-z0-9][^\n]*?) \\\n"
    r"(?P<hashes>(?:    --hash=sha256:[0-9a-f]{64}(?: \\)?\n)+)",
    re.MULTILINE,
)


def locked(lock: str) -> dict[str, set[str]]:
    """Return the versions of every name in a lock; one name may have several, by marker."""
    versions: dict[str, set[str]] = {}
    for entry in ENTRY.finditer((TOP / lock).read_text()):
        requirement = Requirement(entry["requirement"])
        (pin,) = requirement.specifier
        assert pin.operator == "=="
        versions.setdefault(canonicalize_name(requirement.name), set()).add(pin.version)
    return versions


def unlocked(wanted: list[str], lock: str) -> Iterator[str]:
    held = locked(lock)
    for text in wanted:
        requirement = Requirement(text)
        versions = held.get(canonicalize_name(requirement.name), set())
        if not versions or not all(requirement.specifier.contains(v) for v in versions):
            yield text


def test_the_lock_holds_whatever_the_service_asks_for():
    assert list(unlocked(PROJECT["dependencies"], RUNTIME)) == []


def test_the_tests_lock_holds_whatever_they_ask_for():
    wanted = PROJECT["dependencies"] + PROJECT["optional-dependencies"]["test"]
    assert list(unlocked(wanted, EVERYTHING)) == []


@pytest.mark.parametrize("lock", [RUNTIME, BUILD])
def test_what_is_tested_is_what_runs(lock):
    tested = locked(EVERYTHING)
    assert {name: tested.get(name) for name in locked(lock)} == locked(lock)


@pytest.mark.parametrize("lock", [RUNTIME, EVERYTHING])
def test_what_a_library_asks_of_another_with_an_extra_is_locked_with_it(lock):
    # else pip takes the newest of it to see what the extra is, and it has no hash
    pinned = [
        Requirement(entry["requirement"]) for entry in ENTRY.finditer((TOP / lock).read_text())
    ]
    extras = {canonicalize_name(one.name): one.extras for one in pinned}
    bare = [
        f"{name}: {wanted}"
        for name in extras
        for wanted in map(Requirement, asked_by(name))
        if wanted.marker is None or wanted.marker.evaluate({"extra": ""})
        if not wanted.extras <= extras.get(canonicalize_name(wanted.name), wanted.extras)
    ]
    assert bare == []


def asked_by(name: str) -> list[str]:
    """Return what a library asks for; nothing if it is for other machines than this."""
    try:
        return requires(name) or []
    except PackageNotFoundError:
        return []


def imported(folder: str) -> set[str]:
    """Return the distributions that a folder's modules import something of."""
    origin = packages_distributions()
    tops = {
        name.partition(".")[0]
        for path in MODULES
        if path.is_relative_to(TOP / folder)
        for node in ast.walk(ast.parse(path.read_text()))
        for name in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    foreign = tops - sys.stdlib_module_names - {"service", "tests"}
    return {canonicalize_name(origin[top][0]) if top in origin else top for top in foreign}


def asked(*texts: str) -> set[str]:
    return {canonicalize_name(Requirement(text).name) for text in texts}


def test_whatever_the_service_imports_is_asked_for_by_name():
    assert imported("service") | imported("migrations") <= asked(*PROJECT["dependencies"])


def test_whatever_the_tests_import_is_asked_for_by_name():
    both = PROJECT["dependencies"] + PROJECT["optional-dependencies"]["test"]
    assert imported("tests") <= asked(*both)


@pytest.mark.parametrize("lock", [RUNTIME, EVERYTHING, BUILD])
def test_a_lock_is_pins_with_hashes_and_names_no_address(lock):
    text = (TOP / lock).read_text()
    rest = ENTRY.sub("", text)
    assert all(line.startswith("#") for line in rest.splitlines()), rest
    assert "//" not in text


def test_every_exception_from_a_rule_names_the_rule_and_says_why():
    exception = re.compile(r"#\s*(?:noqa|type:\s*ignore).*$", re.MULTILINE)
    explained = re.compile(
        r"# (noqa: [A-Z]+[0-9]+(, [A-Z]+[0-9]+)*|type: ignore\[[a-z-]+(, [a-z-]+)*\])"
        r" +[#-] *\S+ \S+.*"
    )
    bare = [
        f"{path.relative_to(TOP)}: {found.group()}"
        for path in MODULES
        if path != Path(__file__)
        for found in exception.finditer(path.read_text())
        if not explained.fullmatch(found.group())
    ]
    assert bare == []


def test_no_test_is_skipped_or_expected_to_fail():
    pattern = re.compile(r"mark\.(skip|skipif|xfail)|pytest\.(skip|xfail|importorskip)\(")
    soft = [
        str(path.relative_to(TOP))
        for path in MODULES
        if path != Path(__file__) and pattern.search(path.read_text())
    ]
    assert soft == []


def lines_of_its_own(path: Path) -> int:
    """Return the lines of a module without its imports, which name things one a line."""
    text = path.read_text()
    imports = [
        node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    return text.count("\n") - sum((node.end_lineno or 0) - node.lineno + 1 for node in imports)


def test_a_module_answers_one_question_in_three_hundred_lines():
    long = {
        str(path.relative_to(TOP)): lines
        for path in MODULES
        if path.is_relative_to(TOP / "service")
        and (lines := lines_of_its_own(path)) > LONGEST_MODULE_LINES
    }
    assert long == {}


def test_no_folder_of_the_service_is_a_street():
    folders = Counter(path.parent for path in MODULES if (TOP / "service") in path.parents)
    assert {f: n for f, n in folders.items() if n > MOST_MODULES_IN_A_FOLDER + 1} == {}  # __init__


def test_no_module_is_named_after_nothing():
    vague = {"utils", "util", "helpers", "helper", "common", "manager", "misc"}
    # What a thing feels like is not what it is called in the field.
    vague |= {"through", "reach", "rest", "least", "known", "quiet", "again", "parts", "moves"}
    vague |= {"ways", "borrow", "book", "standing"}
    assert [str(path) for path in MODULES if vague & {path.stem, path.parent.name}] == []


def test_the_layout_of_a_run_names_files_that_are_there():
    names = [path.relative_to(layout.TESTS).as_posix() for path in layout.TESTS.rglob("*.py")]
    told = [*layout.BESIDE, *layout.PLAIN, *layout.DEAR, *layout.APART, *layout.BY_PARAMETER]
    told += [layout.TOGETHER]
    assert [one for one in told if not any(name.startswith(one) for name in names)] == []
