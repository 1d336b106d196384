"""A linear program solver that keeps standard output to itself, and is read when it is needed.

A process that leaves planning to another one never reads the library.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import highspy


@cache
def library() -> Any:  # noqa: ANN401 - a module
    """Return the solver's library."""
    import highspy  # noqa: PLC0415 - see this module's first lines

    return highspy


def new_solver() -> highspy.Highs:
    """Return a solver that never writes to standard output, where a plan may be going."""
    solver: highspy.Highs = _quiet()()
    for option, value in (
        ("output_flag", False),
        ("log_to_console", False),
        ("threads", 1),
        ("random_seed", 7),
        ("simplex_strategy", 4),  # primal: columns are added, the basis stays legal
    ):
        solver.setOptionValue(option, value)
    return solver


@cache
def _quiet() -> type[highspy.Highs]:
    """Return the library's class without its greeting.

    It prints its name and licence while it sets up its callbacks, before anybody could silence it;
    no callback is used here, so that step is left out.
    """
    whole = library().Highs

    class Quiet(whole):  # type: ignore[misc, valid-type] # known when it is read
        def __init__(self) -> None:
            super(whole, self).__init__()

    return Quiet
