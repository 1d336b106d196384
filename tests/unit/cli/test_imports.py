import subprocess
import sys

import pytest

HEAVY = ("numba", "highspy", "numpy", "scipy", "typst", "geopy", "flask", "alembic", "gunicorn")
PLANNER = "service.planning"


def imported_by(statement: str) -> set[str]:
    """Return the modules that a fresh process has after a statement."""
    ask = f"{statement}; import sys; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    return set(run.stdout.split())


def test_commands_on_keys_and_firms_read_neither_the_planner_nor_what_it_stands_on():
    found = imported_by("import service.cli.records")
    assert not found.intersection(HEAVY)
    assert not [name for name in found if name.startswith(PLANNER)]


@pytest.mark.parametrize("module", ["service", "service.cli"])
def test_the_package_and_its_command_line_read_none_of_the_heavy_libraries(module):
    assert not imported_by(f"import {module}").intersection({*HEAVY, "sqlalchemy", PLANNER})


def test_a_first_plan_needs_no_compiler():
    found = imported_by(
        "from service.planning.arrays.compiled import begin_plainly; begin_plainly(); "
        "from service.planning.model.problem import Problem; "
        "from service.planning.warm import one_job; "
        "from service.planning.solve import solve; "
        "from service.planning.model.stop_rule import StopRule; "
        "solve(Problem.from_json(one_job()), stop=StopRule(first=True))"
    )
    assert not found.intersection({"numba", "llvmlite"})
