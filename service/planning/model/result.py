"""The answer: who drives where in which order with how many kilograms, at what cost, how good."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class CostCents:
    """The cost of a day in whole cents; ``total`` is rounded once, from the exact sum.

    The parts are each its cent below or above, so that they add up to the total.

    ``burden`` is the fairness price, ``changes`` the price of leaving the previous plan,
    ``unplaced`` the price of material no destination takes, ``crew`` the time of crews on the way,
    at tips and, with a job ahead, waiting.
    """

    total: int
    drive: int = 0
    stops: int = 0
    fees: int = 0
    late: int = 0
    overtime: int = 0
    overflow: int = 0
    burden: int = 0
    changes: int = 0
    unplaced: int = 0
    crew: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunnerUp:
    """The next best thing to do with a tip, and what it costs more than the plan.

    ``destinations`` are those the vehicle would use instead; ``extra_cents`` is None if nothing
    was found that is worth telling: no legal plan of this vehicle, or only a far dearer one.
    """

    destinations: tuple[str, ...] = ()
    extra_cents: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Barrier:
    """What stood against a destination for a load.

    ``code`` is a lot's own refusal code, or one of not_accepted, too_little, no_room, closed,
    dearer; the last four are told of held loads only.
    """

    destination: str
    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hint:
    """One change of one destination that would change the answer, all other vehicles staying.

    ``kind`` says what ``amount`` is: open_until_s (the last arrival it would take), more_room_kg,
    fee_below_cents_per_t (any fee below the amount), or accepts (what is aboard; no amount, and
    ``code`` is why not). With the change the vehicle's best day costs ``saving_cents`` less and
    does without this tip; with a minute, a kilogram or a cent less of it, it does not.
    """

    kind: str
    destination: str
    saving_cents: int
    amount: int | None = None
    code: str | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the hint in the answer's form."""
        return {
            name: value for name in self.__slots__ if (value := getattr(self, name)) is not None
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanStop:
    """A stop: a job, or a tip at a destination. ``done`` stops are history and never move."""

    arrive_s: int
    job: str | None = None
    destination: str | None = None
    mass_kg: int = 0
    volume_l: int = 0
    statuses: tuple[str, ...] = ()
    reason: str = ""
    runner_up: RunnerUp | None = None
    barriers: tuple[Barrier, ...] = ()
    hints: tuple[Hint, ...] = ()
    done: bool = False
    leave_s: int | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the stop in the answer's form."""
        if self.job is not None:
            stop: dict[str, Any] = {"job": self.job, "arrive_s": self.arrive_s}
        else:
            stop = {
                "destination": self.destination,
                "mass_kg": self.mass_kg,
                "volume_l": self.volume_l,
                "arrive_s": self.arrive_s,
                "statuses": list(self.statuses),
                "reason": self.reason,
            }
        if self.runner_up is not None:
            stop["runner_up"] = {
                "destinations": list(self.runner_up.destinations),
                "extra_cents": self.runner_up.extra_cents,
            }
        if self.barriers:
            stop["barriers"] = {b.destination: b.code for b in self.barriers}
        if self.hints:
            stop["hints"] = [hint.to_json() for hint in self.hints]
        if self.done:
            stop["done"] = True
        if self.leave_s is not None:
            stop["leave_s"] = self.leave_s
        return stop


@dataclass(frozen=True, slots=True, kw_only=True)
class VehiclePlan:
    """The stops of one vehicle, done ones first."""

    id: str
    stops: tuple[PlanStop, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DestinationUse:
    """What a destination gets, and what another tonne of room there would be worth."""

    id: str
    used_kg: int
    price_cents_per_t: int = 0
    room_kg: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplaced:
    """Material no destination takes. ``after_job`` None: before the first job."""

    vehicle: str
    mass_kg: int
    volume_l: int
    after_job: str | None
    reasons: tuple[str, ...]
    hints: tuple[Hint, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the part in the answer's form."""
        names = ("vehicle", "mass_kg", "volume_l", "after_job")
        part: dict[str, Any] = {name: getattr(self, name) for name in names}
        part["reasons"] = list(self.reasons)
        if self.hints:
            part["hints"] = [hint.to_json() for hint in self.hints]
        return part


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """How long it was looked for a plan, in steps that do not depend on the machine.

    ``ended_by`` is one of first, gap, optimal, converged, work, clock, or local where only a part
    of the day was planned after an event; a plan that was cut by the clock may differ on another
    machine. So many ``orders`` of jobs were judged, if any, until settled, work or clock.
    """

    seed: int
    iterations: int = 0
    columns: int = 0
    nodes: int = 0
    ended_by: str = "first"
    engine: str = "compiled"
    orders: int | None = None
    orders_ended_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The plan of a day. ``seconds`` is the only part that may differ between two runs."""

    problem: str
    status: str
    cost_cents: CostCents
    disposal_cents: int
    bound_cents: int
    bound_proven: bool
    bound_scope: str
    vehicles: tuple[VehiclePlan, ...]
    destinations: tuple[DestinationUse, ...]
    unplaced: tuple[Unplaced, ...]
    work: Work
    seconds: float = 0.0
    bound_note: str = ""

    @property
    def gap_permille(self) -> float:
        """Return 1000 x (total - bound) / disposal cost, to a thousandth; 0 without tips."""
        if self.disposal_cents <= 0:
            return 0.0
        return round(1000 * (self.cost_cents.total - self.bound_cents) / self.disposal_cents, 3)

    def after(self, seconds: float) -> Plan:
        """Return the same plan, made in so many seconds."""
        return replace(self, seconds=round(seconds, 3))

    def to_json(self) -> dict[str, Any]:
        """Return the answer as a JSON document of format 1."""
        cost = self.cost_cents
        document: dict[str, Any] = {
            "format": 1,
            "problem": self.problem,
            "status": self.status,
            "cost_cents": {name: getattr(cost, name) for name in CostCents.__slots__},
            "disposal_cents": self.disposal_cents,
            "bound_cents": self.bound_cents,
            "bound_proven": self.bound_proven,
            "bound_scope": self.bound_scope,
            "gap_permille": self.gap_permille,
            "vehicles": [
                {"id": v.id, "stops": [stop.to_json() for stop in v.stops]} for v in self.vehicles
            ],
            "destinations": [asdict(d) for d in self.destinations],
            "unplaced": [part.to_json() for part in self.unplaced],
            "work": {key: told for key, told in asdict(self.work).items() if told is not None},
            "seconds": self.seconds,
        }
        if self.bound_note:
            document["bound_note"] = self.bound_note
        return document

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Plan:
        """Return the plan a document of the answer's form describes; keys it lacks get defaults."""
        return cls(
            problem=document["problem"],
            status=document["status"],
            cost_cents=CostCents(**document["cost_cents"]),
            disposal_cents=document["disposal_cents"],
            bound_cents=document["bound_cents"],
            bound_proven=document["bound_proven"],
            bound_scope=document["bound_scope"],
            vehicles=tuple(
                VehiclePlan(id=v["id"], stops=tuple(_stop(stop) for stop in v["stops"]))
                for v in document["vehicles"]
            ),
            destinations=tuple(DestinationUse(**d) for d in document["destinations"]),
            unplaced=tuple(
                Unplaced(
                    vehicle=u["vehicle"],
                    mass_kg=u["mass_kg"],
                    volume_l=u.get("volume_l", 0),
                    after_job=u.get("after_job"),
                    reasons=tuple(u["reasons"]),
                    hints=_hints(u),
                )
                for u in document["unplaced"]
            ),
            work=Work(**document["work"]),
            seconds=document["seconds"],
            bound_note=document.get("bound_note", ""),
        )


def _stop(document: dict[str, Any]) -> PlanStop:
    runner = document.get("runner_up")
    return PlanStop(
        arrive_s=document["arrive_s"],
        job=document.get("job"),
        destination=document.get("destination"),
        mass_kg=document.get("mass_kg", 0),
        volume_l=document.get("volume_l", 0),
        statuses=tuple(document.get("statuses", ())),
        reason=document.get("reason", ""),
        runner_up=None
        if runner is None
        else RunnerUp(
            destinations=tuple(runner["destinations"]), extra_cents=runner["extra_cents"]
        ),
        barriers=tuple(
            Barrier(destination=name, code=code)
            for name, code in document.get("barriers", {}).items()
        ),
        hints=_hints(document),
        done=document.get("done", False),
        leave_s=document.get("leave_s"),
    )


def _hints(document: dict[str, Any]) -> tuple[Hint, ...]:
    return tuple(Hint(**hint) for hint in document.get("hints", ()))
