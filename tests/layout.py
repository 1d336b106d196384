"""How a run is laid out over its workers: machine code made once, dear files begun first.

Two processors are kept busy from the first second to the last, on a machine that has never seen
the planner, too: while one process compiles it, the workers run what does without it.
"""

import subprocess
import sys
from functools import cache
from pathlib import Path

from xdist.scheduler import LoadScopeScheduling

TESTS = Path(__file__).parent
COMPILE = "from service.planning.warm import warm; warm()"
# What begins processes of its own, which run as plain Python, and mostly waits for them: beside the
# compiler, and before all else, since it takes longest.
BESIDE = (
    "journeys/browser/test_office.py",
    "journeys/browser/test_gate.py",
    "journeys/browser/test_crews_offline.py",
    "journeys/browser/test_setting_up.py",
    "journeys/test_demo.py",
    "journeys/test_invented_kind.py",
)
# Folders and files whose tests need no planner, or hardly.
PLAIN = (
    "contract/test_house.py",
    "contract/test_pages.py",
    "contract/test_releases.py",
    "contract/test_sources.py",
    "database/test_migrations.py",
    "database/test_next_migration.py",
    "database/test_ports",
    "database/test_postgresql_server.py",
    "database/test_tables.py",
    "database/test_values.py",
    "golden/",
    "properties/test_agronomy_",
    "properties/test_physics_of_",
    "properties/test_robustness.py",
    "published/",
    "unit/agronomy/",
    "unit/core/",
    "unit/destinations/",
    "unit/documents/",
    "unit/pages/",
    "unit/rules/",
)
# What takes longest, in this order; all else follows as it was collected.
DEAR = (
    "contract/test_api_fuzz.py",
    "properties/test_planning_truth.py",
    "properties/test_ordering.py",
    "journeys/screens/test_day.py",
    "journeys/test_http_manners.py",
    "database/test_mass_book.py",
    "properties/test_planning_bounds.py",
    "journeys/test_http_recall.py",
    "properties/test_planning_hints.py",
    "journeys/test_http_closing.py",
    "properties/test_mass_book.py",
    "properties/test_mass_book_of_parts.py",
    "journeys/test_screens_joining.py",
    "properties/test_answered_days.py",
)
# Files whose cases share nothing that is dear: each may run anywhere.
APART = {
    "contract/test_api_fuzz.py",
    "properties/test_ordering.py",
    "properties/test_planning_bounds.py",
    "properties/test_planning_truth.py",
}
# A folder whose files share one served demo, in the order in which they stand above.
TOGETHER = "journeys/browser/"
# Files whose cases share what was set up for one parameter: those of each stay together.
BY_PARAMETER = {"journeys/test_demo.py", "properties/test_planning_hints.py"}


def name_of(path: Path) -> str:
    """Return a test file's name as it is written here."""
    return path.relative_to(TESTS).as_posix()


def place_of(path: Path) -> int:
    """Return where in a run a file stands: without the planner, what is dear, the rest."""
    name = name_of(path)
    if name in BESIDE:
        return BESIDE.index(name) - len(BESIDE) - 1
    if name.startswith(PLAIN):
        return -1
    return DEAR.index(name) if name in DEAR else len(DEAR)


def needs_the_planner(path: Path) -> bool:
    """Tell whether a file's tests are worth waiting for machine code."""
    return place_of(path) >= 0


def compile_apart() -> "subprocess.Popen[bytes]":
    """Compile the planner in a process of its own, or find that it is compiled."""
    return subprocess.Popen([sys.executable, "-c", COMPILE], cwd=TESTS.parent)


@cache
def wait_for_the_planner() -> None:
    """Return when the planner is compiled: whoever begins second waits for the first."""
    from service.planning.warm import warm  # noqa: PLC0415 - most tests need no planner

    warm()


class Scheduler(LoadScopeScheduling):
    """Hands whole files to workers, and the cases of some files by themselves."""

    def _split_scope(self, nodeid: str) -> str:
        path, _, test = nodeid.partition("::")
        name = path.removeprefix(f"{TESTS.name}/")
        if name.startswith(TOGETHER):
            return TOGETHER
        if name in APART:
            return nodeid
        if name in BY_PARAMETER:
            return f"{path}[{test.partition('[')[2]}"
        return path
