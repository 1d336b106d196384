"""Functions that run as machine code where there is some, and as plain Python until then.

Both give the same answers. Machine code is made when a function is first called, unless the
process began plainly (`begin_plainly`): then nothing that compiles is imported, and whoever makes
or finds machine code meanwhile has the process go over to it (`take_over`) between two plans. A
process may also leave planning to another one (`leave_planning_to_another`).
"""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Final

from service.core.errors import Refusal

Array = Any  # in compiled code: a numpy array, or a number read from one

PLAINLY: Final = (
    "NUMBA_DISABLE_JIT"  # the compiler's own switch, for those who want no machine code
)
_PACKAGE: Final = "service.planning"  # all that is compiled stands below it


@dataclass(slots=True)
class State:
    """How this process runs the planner's functions."""

    plain: bool = field(default_factory=lambda: os.environ.get(PLAINLY, "0") not in {"", "0"})
    awaited: bool = False
    plans: int = 0
    registered: list[tuple[Callable[..., Any], bool]] = field(default_factory=list)
    turn: threading.Condition = field(default_factory=threading.Condition)


STATE: Final = State()


class PlannerAwaited(Refusal):
    """Nothing is planned in this process, and the one that plans does not answer."""

    code = "planner_awaited"
    sentence = (
        "The planner is at work, or is compiled, as once on every machine; records are taken "
        "meanwhile."
    )


def compiled(function: Callable[..., Any], *, inline: bool = False) -> Callable[..., Any]:
    """Return the function as machine code, or as it is where the process began plainly.

    The machine code is kept by what it was made from (`machine_code`). Where that cannot be
    written, as in a read-only image, it is compiled in memory, once in every process. Its plain
    twin stays reachable as ``py_func``.

    Parameters
    ----------
    function
        Takes and returns numbers and numpy arrays only.
    inline
        Put the function's code where it is called: a call costs more than a small function does.
    """
    STATE.registered.append((function, inline))
    if STATE.plain:
        return function
    from service.planning.arrays.machine import as_machine_code  # noqa: PLC0415 - imports the compiler

    return as_machine_code(function, inline=inline)


def registered() -> tuple[tuple[Callable[..., Any], bool], ...]:
    """Return the plain functions so far, and whether each is put where it is called."""
    return tuple(STATE.registered)


def begin_plainly() -> None:
    """Run as plain Python from here on; to be called before the planner is imported."""
    STATE.plain = True


def leave_planning_to_another() -> None:
    """Plan nothing in this process, ever; to be called before the planner is imported."""
    STATE.plain = STATE.awaited = True


def is_plain() -> bool:
    """Tell whether functions run as plain Python."""
    return STATE.plain


def is_awaited() -> bool:
    """Tell whether nothing is planned in this process."""
    return STATE.awaited


@contextmanager
def planning() -> Iterator[None]:
    """Hold off a change to machine code while something is planned.

    Raises
    ------
    PlannerAwaited
        If nothing is planned in this process.
    """
    with STATE.turn:
        if is_awaited():
            raise PlannerAwaited
        STATE.plans += 1
    try:
        yield
    finally:
        with STATE.turn:
            STATE.plans -= 1
            STATE.turn.notify_all()


def take_over() -> None:
    """Run as machine code from here on; waits until nothing is being planned.

    Every module of the planner that has a function under some name has the other one afterwards.
    """
    from service.planning.arrays.machine import as_machine_code  # noqa: PLC0415 - imports the compiler

    with STATE.turn:
        STATE.turn.wait_for(lambda: STATE.plans == 0)
        made = {
            id(function): as_machine_code(function, inline=inline)
            for function, inline in STATE.registered
        }
        for name, module in list(sys.modules.items()):
            if name.startswith(f"{_PACKAGE}."):
                for attribute, value in list(vars(module).items()):
                    if id(value) in made:
                        setattr(module, attribute, made[id(value)])
        STATE.plain = False
