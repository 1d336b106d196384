"""A place that was chosen by hand, as it is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from uuid import UUID

from service.core.materials import LotStatus
from service.core.plans import RuleClass
from service.usecases.telling.told.forms import UNTOLD
from service.usecases.telling.told.places import Named


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnIn:
    """A lot that nobody chose a place for, and what becomes of it by the choice of others.

    Attributes
    ----------
    status, mixed_status
        Its own, and the worst of all that it would be mixed with.
    was_for, goes_to
        Names of the places before and with the choice.
    is_spoiled
        Whether it would be mixed with worse clippings than without the choice.
    was_for_a_bed
        Whether any of it was.
    """

    lot_code: str
    status: LotStatus
    mixed_status: LotStatus
    was_for: tuple[str, ...]
    goes_to: tuple[str, ...]
    is_spoiled: bool
    was_for_a_bed: bool = field(metadata=UNTOLD)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """Advice that somebody sets aside for a lot."""

    lot_code: str
    code: str
    sentence: str
    rule_class: RuleClass


@dataclass(frozen=True, slots=True, kw_only=True)
class LockMoved(Named):
    """A lock that a choice ends, or that no plan keeps beside it.

    Attributes
    ----------
    to_be_confirmed
        Whether it locks what the choice does not name, and so is moved with `move_locks` only.
    """

    load_id: UUID
    lot_codes: tuple[str, ...]
    to_be_confirmed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CostTold:
    """What a day costs without something and with it."""

    before: int
    after: int
    difference: int


@dataclass(frozen=True, kw_only=True)
class _Kept:
    load_id: UUID | None
    kept: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceTold(Named, _Kept):
    """What a choice costs, the advice it sets aside, what it mixes and which locks it moves."""

    cost_cents: CostTold
    overridden: tuple[SetAside, ...]
    drawn_in: tuple[DrawnIn, ...]
    locks_moved: tuple[LockMoved, ...]
