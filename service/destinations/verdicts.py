"""What a destination says to a lot, and the pieces every kind shares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from math import ceil, floor
from typing import Protocol
from uuid import UUID

from service.core.jobs import LotFinding
from service.core.loads import lot_id_of
from service.core.materials import LotStatus, Wetness, worst_status
from service.core.measures.estimates import Estimate
from service.core.places import DestinationKind, Point
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.keeping import HeldHeap, KeepingTime
from service.destinations.reasons import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """What treatments of a lawn still ask for before its clippings may go to one use.

    ``over`` only if every known wait has passed and nothing is unknown.
    """

    over: bool
    code: str
    sentence: str
    rule_class: RuleClass
    # Equal waits have equal facts; a hash may leave out what has none.
    facts: Mapping[str, object] = field(default_factory=dict, hash=False)
    sources: tuple[str, ...] = ()
    composting_days: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Clippings:
    """A lot as a destination sees it: all that a verdict may read, and nothing else.

    Equal clippings get one verdict from a destination, so lots are told apart by exactly what
    is here. High ends go together: a wet lot is heavy, and dense.

    Attributes
    ----------
    density_high_kg_per_m3, nitrogen_high_kg_per_kg
        At the high ends, rounded so that lots of one kind stay one kind; 0 of nothing.
    statuses
        Every status found; clean alone when nothing was found.
    keeps_hours
        How long grass of this kind keeps from the cut before it is sour.
    waits
        As of the lot.
    grown_here
        Whether they grew on the property of the destination.
    held
        What is known of them as a heap in a hold bay; None if they do not lie in one.
    """

    wetness: Wetness
    density_high_kg_per_m3: float
    nitrogen_high_kg_per_kg: float
    statuses: frozenset[LotStatus]
    keeps_hours: float
    waits: Mapping[str, Wait] = field(hash=False)
    grown_here: bool
    held: HeldHeap | None = None

    @property
    def is_sour(self) -> bool:
        """Return whether it has stood too long, in a body or in a bay."""
        in_a_bay = self.held is not None and self.held.sour_since is not None
        return LotStatus.SOUR in self.statuses or in_a_bay


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One job's clippings, as far as a destination cares.

    Attributes
    ----------
    keeps
        How long after the cut it is to be looked at, and how long it keeps at most.
    findings
        Everything found, worst and not, age included; empty means clean.
    waits
        Use ("bed", "edible_bed", "compost_site", "lawn") -> what treatments ask for.
    held
        What is known of them as a heap in a hold bay; None if they do not lie in one.
    """

    job_id: UUID
    lot_code: str
    property_id: UUID
    mass_kg: Estimate
    volume_m3: Estimate
    nitrogen_kg: Estimate
    carbon_to_nitrogen: Estimate
    cut_at: datetime
    wetness: Wetness
    keeps: KeepingTime
    findings: tuple[LotFinding, ...]
    waits: Mapping[str, Wait]
    held: HeldHeap | None = None

    @property
    def id(self) -> UUID:
        """Return the id of these clippings where they are: the job's own unless they are held."""
        return lot_id_of(self.job_id, None if self.held is None else self.held.entry_id)

    def offered_to(self, property_id: UUID | None) -> Clippings:
        """Return what a destination on this property, if it is on any, may know of the lot."""
        mass_kg, volume_m3 = self.mass_kg.high, self.volume_m3.high
        return Clippings(
            wetness=self.wetness,
            density_high_kg_per_m3=round(mass_kg / volume_m3, 6) if volume_m3 > 0 else 0.0,
            nitrogen_high_kg_per_kg=round(self.nitrogen_kg.high / mass_kg, 9)
            if mass_kg > 0
            else 0.0,
            statuses=self.statuses,
            keeps_hours=round(self.keeps.red / timedelta(hours=1), 1),
            waits=self.waits,
            grown_here=property_id == self.property_id,
            held=self.held,
        )

    @property
    def look_by(self) -> datetime:
        """Return when it is to be looked at: from then on it may heat or smell."""
        return self.cut_at + self.keeps.amber

    @property
    def keeps_until(self) -> datetime:
        """Return from when on it counts as sour."""
        return self.cut_at + self.keeps.red

    def aged(self, at: datetime) -> Lot:
        """Return the lot as it is at a moment: sour, if it has stood too long by then."""
        if at < self.keeps_until or LotStatus.SOUR in self.statuses:
            return self
        sour = stood_too_long(self.cut_at, self.keeps)
        return replace(self, findings=(*self.findings, sour))

    @property
    def statuses(self) -> frozenset[LotStatus]:
        """Return every status found; clean alone when nothing was found."""
        return frozenset(finding.status for finding in self.findings) or frozenset(
            {LotStatus.CLEAN}
        )

    @property
    def status(self) -> LotStatus:
        """Return the worst status."""
        return worst_status(self.statuses)

    @property
    def counts_as(self) -> LotStatus:
        """Return the worst status of the lot where it lies: in a bay it may have turned sour."""
        is_sour = self.held is not None and self.held.sour_since is not None
        return worst_status([self.status, LotStatus.SOUR]) if is_sour else self.status


def stood_too_long(cut_at: datetime, keeps: KeepingTime) -> LotFinding:
    """Return what is found of grass that has stood for longer than it keeps."""
    facts: dict[str, object] = {
        "cut_at": cut_at.isoformat(),
        "keeps_until": (cut_at + keeps.red).isoformat(),
    }
    return LotFinding(status=LotStatus.SOUR, code="stood_too_long", facts=facts)


class Destination(Protocol):
    """One destination, made ready for one day: asked once per lot."""

    @property
    def kind(self) -> DestinationKind:
        """Its kind."""
        ...

    @property
    def id(self) -> UUID:
        """Its record's id."""
        ...

    @property
    def point(self) -> Point:
        """Where it is."""
        ...

    @property
    def property_id(self) -> UUID | None:
        """The client's property it lies on, None if it lies on none."""
        ...

    def verdict(self, lot: Clippings) -> Verdict:
        """Return what it says to a lot."""
        ...


def verdict_on(lot: Lot, destination: Destination) -> Verdict:
    """Return what a destination says to a lot."""
    return destination.verdict(lot.offered_to(destination.property_id))


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One word to whoever tips at a place, in no language.

    Attributes
    ----------
    code
        Its sentence stands under ``crew`` in the files of languages.
    gaps
        What the sentence names, as somebody wrote it.
    """

    code: str
    gaps: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit on the mass of a lot: the smallest binds."""

    mass_kg: float
    code: str
    sentence: str
    rule_class: RuleClass
    facts: Mapping[str, object] = field(default_factory=dict)
    sources: tuple[str, ...] = ()


def whole_kg(mass_kg: float) -> int:
    """Return a limit in whole kilograms, rounded down: who keeps it as told must not break it."""
    return floor(mass_kg + 1e-6)


def kg_at_most(mass_kg: float) -> int:
    """Return what lies somewhere in whole kilograms, rounded up: told beside what may lie there."""
    return ceil(mass_kg - 1e-6)


def refused(kind: DestinationKind, destination_id: UUID, reason: Reason) -> Verdict:
    """Return the verdict that nothing of the lot may go there."""
    return Verdict(
        destination_kind=kind,
        destination_id=destination_id,
        accepted_kg=0.0,
        code=reason.code,
        sentence=reason.sentence,
        rule_class=reason.rule_class,
        facts=dict(reason.facts),
        sources=reason.sources,
        ground=reason.ground,
    )


def accepted(kind: DestinationKind, destination_id: UUID, limits: list[Limit]) -> Verdict:
    """Return the verdict of the limit that binds; a limit below one kilogram refuses."""
    binding = min(limits, key=lambda limit: limit.mass_kg)
    return Verdict(
        destination_kind=kind,
        destination_id=destination_id,
        accepted_kg=binding.mass_kg if binding.mass_kg >= 1.0 else 0.0,
        code=binding.code,
        sentence=binding.sentence,
        rule_class=binding.rule_class,
        facts=dict(binding.facts),
        sources=binding.sources,
    )


def treatment_reason(wait: Wait) -> Reason:
    """Return the refusal a wait that is not over asks for."""
    return Reason(
        code=wait.code,
        sentence=wait.sentence,
        rule_class=wait.rule_class,
        ground=Ground.LOT,
        facts=wait.facts,
        sources=wait.sources,
    )
