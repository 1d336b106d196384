"""What becomes of each lot, and what destinations say to it, as they are told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal
from uuid import UUID

from service.core.jobs import JobState
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.core.plans import RuleClass
from service.usecases.telling.told.forms import NEWER, Amount, Chance, Count, Range
from service.usecases.telling.told.places import FairnessSaid, Named

Outcome = Literal["left_on_lawn", "leave_on_lawn", "unplaced", "hold", "routed"]
LEAVE: Final = "leave_on_lawn"
LEFT: Final = frozenset({LEAVE, "left_on_lawn"})


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceTold:
    """Whether clippings should stay on the lawn, and whose rule says so."""

    must: bool
    code: str
    sentence: str
    rule_class: RuleClass
    facts: Mapping[str, object]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictTold(Named):
    """What a destination says to a lot."""

    accepted_kg: Amount
    code: str
    sentence: str
    rule_class: RuleClass
    facts: Mapping[str, object]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingTold:
    """One thing found about a lot."""

    status: LotStatus
    code: str
    facts: Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class GoesTo:
    """A load that a share of a lot is in, and why it goes there."""

    load_id: UUID
    destination_kind: DestinationKind
    destination_id: UUID
    name: str | None
    share: Chance
    why: str | None
    fairness: FairnessSaid | None = field(metadata=NEWER)
    load_status: LotStatus
    chosen_by_hand: bool = field(metadata=NEWER)
    against_advice: bool = field(metadata=NEWER)
    runner_up: Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Elsewhere:
    """What the other destinations said."""

    willing: Count
    refused_by_code: Mapping[str, int]
    nearest_refusals: tuple[VerdictTold, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLinks:
    """Where more is told of a lot."""

    why: str
    verdicts: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Attention:
    """What is the matter with a lot that has no place, or that no vehicle takes over."""

    code: str
    sentence: str
    facts: Mapping[str, object] = field(metadata=NEWER)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotTold:
    """A lot with its outcome and the reasons."""

    job_id: UUID
    lot_code: str
    lawn_id: UUID | None
    state: JobState
    status: LotStatus
    findings: tuple[FindingTold, ...]
    mass_kg: Range | None
    outcome: Outcome
    advice: AdviceTold | None
    goes_to: tuple[GoesTo, ...]
    elsewhere: Elsewhere | None
    links: LotLinks
    needs_attention: Attention | None = field(metadata=NEWER)
    vehicle_id: UUID = field(metadata=NEWER)
    taken_over_from_id: UUID | None = field(metadata=NEWER)
