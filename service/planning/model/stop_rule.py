"""When to stop looking for a better plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class StopRule:
    """When to stop looking for a better plan.

    Attributes
    ----------
    gap_permille
        Stop when the proven gap is at most this.
    rounds
        Sub-problems and nodes at most; the limit that does not depend on the machine.
    seconds
        A guard by the clock; None for none. A plan cut by it says so in ``work.ended_by``.
    first
        Only the first plan, without a bound.
    explain_labels
        Labels that may be looked at in search of the tips' runners-up, held loads first; by the
        number of vehicles if left out.
    still_wanted
        Asked time and again while it is looked; raises when nobody waits for the plan any more.
    """

    gap_permille: float = 3.0
    rounds: int = 120
    seconds: float | None = None
    first: bool = False
    explain_labels: int | None = None
    still_wanted: Callable[[], None] | None = field(default=None, compare=False, repr=False)
