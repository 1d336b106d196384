"""How likely a plan is to overflow, when lots turn out heavier or lighter than planned.

A plan is legal at the masses it was given, which may all be at their high end; what a lot really
is, is spread, and the lots of one day err together (see `service.planning.risk.sums`). A tip takes
the share of everything aboard that the plan has it take, however much that turns out to be.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from service.planning.model.problem import Job, Problem, Vehicle
from service.planning.model.result import Plan, VehiclePlan
from service.planning.risk.sums import Spread, chance_above

Shares = dict[str, float]
"""By lot, how much of it: 1 is the whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UncertainLot:
    """What one whole lot may weigh [kg] and fill [L]."""

    mass_kg: Spread
    volume_l: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class LotShare:
    """A share of a lot, 0 to 1: parts of one lot are heavy or light as one."""

    lot: str
    share: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """How far the numbers of a problem may be wrong.

    Attributes
    ----------
    lots
        By name.
    jobs
        By job, what it loads; a job that is not named loads what the problem says.
    aboard
        By vehicle, what its parts aboard are, in the problem's order; of a vehicle that is not
        named, what the problem says.
    rooms_kg
        By destination and lot, what it would take of this lot alone [kg]; where none is named,
        the destination's capacity.
    correlation
        How far lots err together, 0 to 1.
    """

    lots: Mapping[str, UncertainLot]
    jobs: Mapping[str, LotShare]
    correlation: float
    aboard: Mapping[str, tuple[LotShare, ...]] = field(default_factory=dict)
    rooms_kg: Mapping[tuple[str, str], float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleChances:
    """Probabilities from 0 to 1 that the payload, and the body, do not suffice."""

    payload: float
    body: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OverflowChances:
    """By vehicle, at its worst moment; by destination, that it gets more than its room."""

    vehicles: dict[str, VehicleChances]
    destinations: dict[str, float]


def overflow_chances(problem: Problem, plan: Plan, uncertainty: Uncertainty) -> OverflowChances:
    """Return how likely each vehicle is overloaded and each destination gets more than its room.

    Parameters
    ----------
    problem, plan
        The day, and a legal plan of it.
    uncertainty
        What its lots may be.

    Returns
    -------
    OverflowChances
        A vehicle's figures are those of its worst moment from now on, a lower bound on those of
        the whole day. Tips that are done count with the kilograms they were told with.
    """
    tally = _Tally(problem, plan, uncertainty)
    vehicles = {
        vehicle.id: tally.vehicle(vehicle, answer)
        for vehicle, answer in zip(problem.vehicles, plan.vehicles, strict=True)
    }
    return OverflowChances(
        vehicles=vehicles,
        destinations={d.id: tally.destination(d.id, d.capacity_kg) for d in problem.destinations},
    )


class _Tally:
    """Replays the plan: who carries which shares of which lots, and who gets them."""

    def __init__(self, problem: Problem, plan: Plan, uncertainty: Uncertainty) -> None:
        self.jobs = {job.id: job for job in problem.jobs}
        self.uncertainty = uncertainty
        self.lots = dict(uncertainty.lots)
        self.done_kg: dict[str, float] = {}
        self.got: dict[str, Shares] = {}
        self.left_behind: Counter[tuple[str, str | None]] = Counter()
        for part in plan.unplaced:
            self.left_behind[part.vehicle, part.after_job] += part.mass_kg

    def vehicle(self, vehicle: Vehicle, answer: VehiclePlan) -> VehicleChances:
        """Walk through a vehicle's day; return its chances at the worst moment."""
        carried = self._aboard(vehicle)
        planned_kg = sum(part.mass_kg for part in vehicle.aboard)
        peaks = [carried]
        after = next((s.job for s in reversed(answer.stops) if s.done and s.job), None)
        for stop in answer.stops:
            if stop.done:
                if stop.destination is not None:
                    before = self.done_kg.get(stop.destination, 0.0)
                    self.done_kg[stop.destination] = before + stop.mass_kg
            elif stop.job is not None:
                # What no destination takes is off the vehicle before it loads again.
                gone_kg = self.left_behind.pop((vehicle.id, after), 0)
                carried, planned_kg = _without(carried, gone_kg, planned_kg)
                if carried is peaks[-1]:  # nothing went since: it only gets heavier
                    peaks.pop()
                job, after = self.jobs[stop.job], stop.job
                carried = _with(carried, self._loaded(job))
                planned_kg += job.mass_kg
                peaks.append(carried)
            elif stop.destination is not None and planned_kg > 0:
                taken = min(1.0, stop.mass_kg / planned_kg)
                got = {lot: share * taken for lot, share in carried.items()}
                self.got[stop.destination] = _with(self.got.get(stop.destination, {}), got)
                carried, planned_kg = _without(carried, stop.mass_kg, planned_kg)
        return VehicleChances(
            payload=max(self._carries(shares, vehicle.payload_kg) for shares in peaks),
            body=max(self._fills(shares, vehicle.body_l) for shares in peaks),
        )

    def destination(self, name: str, capacity_kg: float) -> float:
        """Return how likely it gets more than its room, each lot by the room there is for it."""
        parts = [(Spread.exactly(self.done_kg.get(name, 0.0)), capacity_kg)]
        rooms_kg = self.uncertainty.rooms_kg
        for lot, share in self.got.get(name, {}).items():
            mass_kg = self.lots[lot].mass_kg
            parts.append((mass_kg.times(share), rooms_kg.get((name, lot), capacity_kg)))
        filled = [(spread, room_kg) for spread, room_kg in parts if spread.high > 0]
        if any(room_kg <= 0 for _, room_kg in filled):
            return 1.0
        shares = tuple((spread, 1.0 / room_kg) for spread, room_kg in filled)
        return chance_above(1.0, shares, correlation=self.uncertainty.correlation)

    def _carries(self, shares: Shares, payload_kg: float) -> float:
        parts = tuple((self.lots[lot].mass_kg, share) for lot, share in shares.items())
        return chance_above(payload_kg, parts, correlation=self.uncertainty.correlation)

    def _fills(self, shares: Shares, body_l: float) -> float:
        parts = tuple((self.lots[lot].volume_l, share) for lot, share in shares.items())
        return chance_above(body_l, parts, correlation=self.uncertainty.correlation)

    def _aboard(self, vehicle: Vehicle) -> Shares:
        named = self.uncertainty.aboard.get(vehicle.id)
        if named is None:
            named = tuple(
                self._as_said(f"{vehicle.id} aboard {number}", part.mass_kg, part.volume_l)
                for number, part in enumerate(vehicle.aboard)
            )
        found: Shares = {}
        for part in named:
            found = _with(found, {part.lot: part.share})
        return found

    def _loaded(self, job: Job) -> Shares:
        part = self.uncertainty.jobs.get(job.id)
        if part is None:
            part = self._as_said(f"job {job.id}", job.mass_kg, job.volume_l)
        return {part.lot: part.share}

    def _as_said(self, name: str, mass_kg: float, volume_l: float) -> LotShare:
        """Take the problem's word for a lot that nobody spread."""
        self.lots[name] = UncertainLot(
            mass_kg=Spread.exactly(mass_kg), volume_l=Spread.exactly(volume_l)
        )
        return LotShare(lot=name)


def _with(shares: Shares, more: Shares) -> Shares:
    return shares | {lot: shares.get(lot, 0.0) + share for lot, share in more.items()}


def _without(shares: Shares, gone_kg: float, planned_kg: int) -> tuple[Shares, int]:
    """Return what stays when so many of the planned kilograms go, and how many were planned."""
    if gone_kg <= 0 or planned_kg <= 0:
        return shares, planned_kg
    if gone_kg >= planned_kg:
        return {}, 0
    kept = 1.0 - gone_kg / planned_kg
    return {lot: share * kept for lot, share in shares.items()}, planned_kg - int(gone_kg)
