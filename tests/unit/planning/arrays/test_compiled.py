import os
import subprocess
import sys
import threading

import pytest

from service.planning.arrays import compiled

GO_OVER = """
from service.planning.arrays import compiled
compiled.begin_plainly()
from service.planning.arrays import travel as ways
from service.planning.tip_plans import shortlists
before = ways.seconds_of
assert before is ways._seconds_of and before(3.0, 4.0) == 45
compiled.take_over()
after = ways.seconds_of
assert after is not before and after(3.0, 4.0) == 45 and len(after.signatures) == 1
assert shortlists.choose is ways.choose and hasattr(ways.choose, "py_func")
assert not compiled.is_plain()
"""


def test_every_module_has_the_machine_code_once_the_process_went_over_to_it():
    environment = {name: value for name, value in os.environ.items() if name != compiled.PLAINLY}
    subprocess.run([sys.executable, "-c", GO_OVER], check=True, env=environment)


@pytest.fixture
def state(monkeypatch):
    monkeypatch.setattr(compiled, "STATE", compiled.State(plain=True))
    return compiled.STATE


@pytest.mark.usefixtures("state")
def test_a_process_that_leaves_planning_to_another_plans_nothing():
    compiled.leave_planning_to_another()
    with pytest.raises(compiled.PlannerAwaited), compiled.planning():
        pass


@pytest.mark.usefixtures("state")
def test_a_process_goes_over_only_between_two_plans():
    over = threading.Event()

    def go_over():
        compiled.take_over()
        over.set()

    with compiled.planning():
        thread = threading.Thread(target=go_over)
        thread.start()
        assert not over.wait(0.2)
        assert compiled.is_plain()
    thread.join(60)
    assert not compiled.is_plain()
