"""A linear program solver that keeps standard output to itself."""

from __future__ import annotations

import highspy


class LinearSolver(highspy.Highs):
    """A solver that never writes to standard output, where a plan may be going.

    The library's own class prints its name and licence while it sets up its callbacks, before
    anybody could silence it; no callback is used here, so that step is left out.
    """

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        for option, value in (
            ("output_flag", False),
            ("log_to_console", False),
            ("threads", 1),
            ("random_seed", 7),
            ("simplex_strategy", 4),  # primal: columns are added, the basis stays legal
        ):
            self.setOptionValue(option, value)
