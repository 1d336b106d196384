"""What is wrong with a problem or a plan: one fault each, with the place and a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.errors import Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong, and where.

    Attributes
    ----------
    pointer
        JSON pointer (RFC 6901) into the problem or the plan.
    code
        Stable word for programs, such as ``unknown_id``.
    detail
        A sentence that says what is allowed.
    """

    pointer: str
    code: str
    detail: str

    def __str__(self) -> str:
        """Return the fault as one line."""
        return f"{self.pointer or '/'}: {self.detail}"


class ProblemNotUsable(Refusal):
    """The problem is malformed or contradicts itself; every fault is named at once."""

    code = "problem_not_usable"
    sentence = "The problem cannot be planned: {count} faults. {first}"

    def __init__(self, faults: Sequence[Fault]) -> None:
        """Keep the faults; there is at least one."""
        self.faults = tuple(faults)
        super().__init__(**_told(faults))


class PlanNotLegal(Refusal):
    """A plan breaks a rule or names a wrong cost, so it is not handed out."""

    code = "plan_not_legal"
    sentence = "The plan breaks {count} rules. {first}"

    def __init__(self, faults: Sequence[Fault]) -> None:
        """Keep the faults; there is at least one."""
        self.faults = tuple(faults)
        super().__init__(**_told(faults))


def _told(faults: Sequence[Fault]) -> dict[str, object]:
    """Return what the sentence of a refusal says of its faults."""
    return {"count": len(faults), "first": str(faults[0]) if faults else ""}
