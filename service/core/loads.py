"""Loads: clippings on their way to one destination, and entries of the hold queue."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Final
from uuid import UUID, uuid5

from service.core.acceptance.live_status import AgainstGate
from service.core.materials import LotStatus
from service.core.measures.estimates import Estimate
from service.core.measures.quantities import Measure
from service.core.places import DestinationKind
from service.core.records import Record


class LoadState(StrEnum):
    """A load is planned, on its way, and then one of its ends."""

    PLANNED = "planned"
    UNDER_WAY = "under_way"
    DELIVERED = "delivered"
    PARTLY_REFUSED = "partly_refused"
    REFUSED = "refused"
    SUPERSEDED = "superseded"


class TicketReview(StrEnum):
    """Whether somebody looked at a weigh ticket; only accepted ones teach the estimates.

    One that is set aside counts for nothing, nor does a doubtful one until it is accepted.
    """

    AWAITED = "awaited"
    ACCEPTED = "accepted"
    SET_ASIDE = "set_aside"


OPEN_LOAD_STATES = frozenset({LoadState.PLANNED, LoadState.UNDER_WAY})
ENDED_STATES = frozenset({LoadState.DELIVERED, LoadState.PARTLY_REFUSED, LoadState.REFUSED})
FIXED_LOAD_STATES = ENDED_STATES | {LoadState.UNDER_WAY}


# A weight further than this from the ends of the estimate is a wrong ticket or a wrong lawn more
# often than grass: that wet grass weighs two to three times the likely is in the high end. As what
# a crew measured is doubted, and a yield beyond twice the published; common practice, no source.
TIMES_BEYOND_ESTIMATE: Final = 2.0
# In the explanation of a load: it was released from a bay by hand.
BY_HAND: Final = "by_hand"


def lot_id_of(job_id: UUID, hold_entry_id: UUID | None) -> UUID:
    """Return the id of a job's clippings where they are: fresh, or in a hold bay since.

    What waits in a bay is older and may be hot: it is asked about apart from the rest of its job.
    """
    return job_id if hold_entry_id is None else uuid5(hold_entry_id, str(job_id))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPart:
    """The share of one job's clippings in a load, 0 to 1 of the job.

    ``hold_entry_id`` is the entry of the hold queue it was shovelled up from; None if it came from
    the lawn.
    """

    job_id: UUID
    lot_code: str
    share: float
    hold_entry_id: UUID | None = None

    @property
    def lot_id(self) -> UUID:
        """Return the id of the clippings it is of, as destinations are asked about them."""
        return lot_id_of(self.job_id, self.hold_entry_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load(Record):
    """One drop: parts of one or more lots from one vehicle to one destination.

    ``plan_id`` is None for one that no plan foresaw. ``chosen_by_id`` is the key that chose its
    place by hand, ``override_reason`` why advice against it was set aside; both hold while it is
    locked. ``at_gate_at`` is when its vehicle was seen at the gate of a site: what is in it may not
    be on record as mown yet. That is a lock of its own; ``locked`` is the dispatcher's alone.
    """

    depot_id: UUID
    working_day: date
    plan_id: UUID | None = None
    vehicle_id: UUID
    crew_id: UUID | None = None
    destination_kind: DestinationKind
    destination_id: UUID
    state: LoadState = LoadState.PLANNED
    locked: bool = False
    sequence: int
    after_job_id: UUID | None = None
    arrive_at: datetime
    parts: tuple[LoadPart, ...]
    status: LotStatus
    mass_kg: Estimate
    volume_m3: Estimate
    nitrogen_kg: Estimate
    weighed_net: Measure | None = None
    weigh_ticket: str | None = None
    ticket_review: TicketReview = TicketReview.AWAITED
    ticket_like_id: UUID | None = None
    refusal_reason: str | None = None
    refused_share: float = 0.0
    done_at: datetime | None = None
    fee_cents: int = 0
    override_reason: str | None = None
    chosen_by_id: UUID | None = None
    at_gate_at: datetime | None = None
    against_gate: AgainstGate | None = None
    explanation: dict[str, object] = field(default_factory=dict)

    @property
    def successor_ids(self) -> tuple[UUID, ...]:
        """Return the loads that took its place: none of one that stands."""
        return ()

    @property
    def is_bound(self) -> bool:
        """Return whether no plan sends it elsewhere: somebody locked it, or it is at the gate."""
        return self.locked or self.at_gate_at is not None

    @property
    def is_by_hand(self) -> bool:
        """Return whether it is what somebody released from a bay: no plan sent it."""
        return bool(self.explanation.get(BY_HAND))

    @property
    def is_held_grass(self) -> bool:
        """Return whether any of it came out of a hold bay."""
        return any(part.hold_entry_id is not None for part in self.parts)

    @property
    def taken_share(self) -> float:
        """Return what stayed at the destination, per what was brought at the high end.

        A ticket is of what was tipped and stayed there; without one that counts the high end
        does, less what was refused.
        """
        if self.weighed_net is None or not self.weight_counts or self.mass_kg.high <= 0:
            return self.kept_share
        weighed = self.weighed_net.si_value / self.mass_kg.high
        return 0.0 if self.state is LoadState.REFUSED else weighed

    @property
    def waits_to_be_taken_up(self) -> bool:
        """Whether it lies there though who got it said no: till it is fetched, or may stay."""
        return self.state is LoadState.DELIVERED and self.refusal_reason is not None

    @property
    def counted_kg(self) -> float:
        """Return what stayed at the destination: by a weight that counts, or likely [kg]."""
        if self.weighed_net is None or not self.weight_counts:
            return self.mass_kg.likely * self.kept_share
        return 0.0 if self.state is LoadState.REFUSED else self.weighed_net.si_value

    @property
    def weight_is_doubtful(self) -> bool:
        """Whether somebody looks first: it is far off, or its ticket was given before."""
        if self.weighed_net is None:
            return False
        if self.ticket_like_id is not None:
            return True
        least_kg = self.mass_kg.low * self.weighed_share / TIMES_BEYOND_ESTIMATE
        most_kg = self.mass_kg.high * self.weighed_share * TIMES_BEYOND_ESTIMATE
        return not least_kg <= self.weighed_net.si_value <= most_kg

    @property
    def weight_counts(self) -> bool:
        """Whether there is a weight that counts: not set aside, and not doubtful until accepted."""
        if self.weighed_net is None or self.ticket_review is TicketReview.SET_ASIDE:
            return False
        return self.ticket_review is TicketReview.ACCEPTED or not self.weight_is_doubtful

    @property
    def has_accepted_ticket(self) -> bool:
        """Whether a weight was looked at and accepted: what estimates learn from."""
        is_weighed = self.weighed_net is not None and self.weighed_net.si_value > 0
        return is_weighed and self.ticket_review is TicketReview.ACCEPTED

    @property
    def kept_share(self) -> float:
        """Return the share of its parts that does not come back to the vehicle, 0 to 1."""
        return 0.0 if self.state is LoadState.REFUSED else 1.0 - self.refused_share

    @property
    def weighed_share(self) -> float:
        """Return the share of its parts that a weight is of: what stayed, or all sent away."""
        return 1.0 if self.state is LoadState.REFUSED else self.kept_share


class ReleasedAs(StrEnum):
    """What became of held clippings: brought to a place, steeped in water, or gone in words."""

    PLACE = "place"
    LIQUID_FEED = "liquid_feed"
    ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeapTemperature:
    """A temperature measured inside a heap: how deep, when, and by whom."""

    depth_mm: float
    temperature_c: float
    at: datetime
    measured_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BayLoading:
    """That some of a heap came into a vehicle's body: out of its bay, or out of another body.

    Attributes
    ----------
    share
        Of the heap as it came to the bay, 0 to 1; the heap is mixed, so of each lot as much.
    from_vehicle_id
        Out of whose body it was forked over; None if out of the bay.
    load_id
        The load at whose end it was found to be missing on record; None if somebody said so.
    """

    id: UUID
    vehicle_id: UUID
    at: datetime
    share: float
    from_vehicle_id: UUID | None = None
    load_id: UUID | None = None


class HoldState(StrEnum):
    """Expected in the bay by the plan, lying there, or gone again."""

    EXPECTED = "expected"
    IN_BAY = "in_bay"
    RELEASED = "released"
    SUPERSEDED = "superseded"


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldEntry(Record):
    """Clippings that wait: why, until what, and how long they keep.

    ``amber_at`` and ``red_at`` are the freshness clock, counted from the earliest cut.
    ``released_with_id`` is the vehicle that brought it to the place, ``released_load_id`` the load
    that the place is charged with. ``temperatures`` are in the order of their times; None where
    nobody measured. ``loadings`` are in the order of their times, too; None where none was loaded.
    What is aboard is on record as ``in_bay`` until all of the heap is tipped.
    """

    hold_bay_id: UUID
    load_id: UUID
    lot_codes: tuple[str, ...]
    status: LotStatus
    mass_kg: Estimate
    volume_m3: Estimate
    reason_code: str
    reason: str
    release_condition_code: str
    release_condition: str
    cut_at: datetime
    amber_at: datetime
    red_at: datetime
    state: HoldState = HoldState.EXPECTED
    held_since: datetime | None = None
    released_at: datetime | None = None
    released_to: str | None = None
    released_as: ReleasedAs | None = None
    released_to_kind: DestinationKind | None = None
    released_to_id: UUID | None = None
    released_with_id: UUID | None = None
    released_load_id: UUID | None = None
    temperatures: tuple[HeapTemperature, ...] | None = None
    loadings: tuple[BayLoading, ...] | None = None

    @property
    def loaded_share(self) -> float:
        """Return the share of the heap that was loaded out of the bay, tipped since or not."""
        return sum(one.share for one in self.loadings or () if one.from_vehicle_id is None)

    def shares_loaded(self) -> dict[UUID, float]:
        """Return by vehicle the share of the heap that came into its body, tipped since or not.

        Less what left it for another body.
        """
        found: dict[UUID, float] = {}
        for one in self.loadings or ():
            found[one.vehicle_id] = found.get(one.vehicle_id, 0.0) + one.share
            if one.from_vehicle_id is not None:
                found[one.from_vehicle_id] = found.get(one.from_vehicle_id, 0.0) - one.share
        return found

    def loaded_since(self, vehicle_id: UUID) -> datetime | None:
        """Return since when any of it is, or was, in a vehicle's body."""
        into = (one.at for one in self.loadings or () if one.vehicle_id == vehicle_id)
        return min(into, default=None)

    def came_by_body(self, load: Load) -> bool:
        """Return whether a load had it out of a body on record, not out of the bay in one go."""
        since = self.loaded_since(load.vehicle_id)
        at = load.done_at or load.arrive_at
        return since is not None and not load.is_by_hand and since <= at
