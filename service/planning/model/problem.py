"""The planning problem: vehicles with their jobs in order, places to tip, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from service.planning.model.faults import ProblemNotUsable
from service.planning.model.validation import problem_faults

EARTH_RADIUS_M = 6_371_008.8  # mean radius R1 of the GRS80 ellipsoid; the problem format's sphere
NO_PAUSE_S = 172_800  # after all hours of the problem format


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What everything costs, and the two rules about tips.

    ``unplaced_cents_per_kg`` prices what no destination takes (twice the overflow price if the
    problem names none); ``change_cents_per_stop`` prices a tip that the previous plan did not have.
    ``crew_cents_per_min`` prices the time on the way, at tips and waiting for a job or, with a job
    ahead, for a place to open; ``overtime_cents_per_min`` comes on top, whatever it was for.
    """

    drive_cents_per_km: int
    late_cents_per_min: int
    overtime_cents_per_min: int
    overflow_cents_per_kg: int
    speed_m_per_min: int
    detour_permille: int
    minimum_tip_kg: int
    tips_between_jobs: int
    unplaced_cents_per_kg: int
    change_cents_per_stop: int = 0
    crew_cents_per_min: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A point: metres on a plane, or degrees on the sphere, or a row of the matrix."""

    id: str
    x_m: int | None = None
    y_m: int | None = None
    lat: float | None = None
    lon: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Matrix:
    """Road distances and times, rows and columns in the order of the places."""

    distance_m: tuple[tuple[int, ...], ...]
    duration_s: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Aboard:
    """A part of what a vehicle carries now, that is after its last done stop.

    ``job`` names the lot it comes from, so that this lot's refusals keep holding.
    """

    mass_kg: int
    volume_l: int
    status: str
    job: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneStop:
    """A stop that is made or under way: a job, or a tip at a destination. It never moves."""

    arrive_s: int
    leave_s: int | None = None
    job: str | None = None
    destination: str | None = None
    mass_kg: int = 0
    volume_l: int = 0
    statuses: tuple[str, ...] = ()
    reason: str = "done"


@dataclass(frozen=True, slots=True, kw_only=True)
class Locked:
    """A tip that the plan must keep: right after this job (None: before the first), and how much.

    With ``mass_kg`` at least that much is tipped; without, any amount.
    """

    destination: str
    after_job: str | None = None
    mass_kg: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """A vehicle, its limits, its jobs in order, and how far its day has gone.

    ``least_permille`` is by how much more a tip of it must be than the least of a destination:
    what it loads is counted at the high end, the least is meant of the likely mass.
    """

    id: str
    start_place: str
    end_place: str
    shift_start_s: int
    shift_end_s: int
    payload_kg: int
    body_l: int
    jobs: tuple[str, ...]
    aboard: tuple[Aboard, ...] = ()
    done: tuple[DoneStop, ...] = ()
    locked: tuple[Locked, ...] = ()
    least_permille: int = 1000

    @property
    def mixture(self) -> tuple[Aboard, ...]:
        """The parts of what is aboard, also those that rounding left no kilogram of.

        One kilogram that is left of a mixture is still of all its lots. Where no part has any,
        nothing is aboard.
        """
        return self.aboard if any(part.mass_kg for part in self.aboard) else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A lot to be loaded at a place. ``refused_destinations`` gives codes by destination."""

    id: str
    place: str
    mass_kg: int
    volume_l: int
    status: str
    service_s: int
    window_s: tuple[int, int]
    refused_destinations: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Destination:
    """A place to tip. ``burden_cents_per_t`` is the fairness price of using it once more.

    ``accepts_until_s`` gives seconds by status: a tip with any of that aboard begins no later.
    ``least_kg`` is the least that a tip may be, also one that empties the body; see ``Vehicle``.
    No tip begins after ``pause_from_s`` and before ``pause_until_s``: a gate that is shut at noon.
    """

    id: str
    kind: str
    place: str
    capacity_kg: int
    fee_cents_per_t: int
    accepts: tuple[str, ...]
    tip_s: int
    stop_cents: int
    open_s: int
    close_s: int
    burden_cents_per_t: int = 0
    may_overflow: bool = True
    accepts_until_s: tuple[tuple[str, int], ...] = ()
    least_kg: int = 0
    pause_from_s: int = NO_PAUSE_S
    pause_until_s: int = 0

    def begins_s(self, clock_s: int) -> int:
        """Return when a tip begins of whoever is there at a second, and waits for the gate."""
        opens_s = max(clock_s, self.open_s)
        return max(opens_s, self.pause_until_s) if opens_s > self.pause_from_s else opens_s

    def too_late(self, statuses: Iterable[str], clock_s: int) -> bool:
        """Return whether a tip that begins at this second comes too late for what is aboard."""
        until = dict(self.accepts_until_s)
        return any(clock_s > until.get(status, clock_s) for status in statuses)


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """A day to plan. All numbers are whole; the units are in the names."""

    name: str
    costs: Costs
    statuses: tuple[str, ...]
    places: tuple[Place, ...]
    vehicles: tuple[Vehicle, ...]
    jobs: tuple[Job, ...]
    destinations: tuple[Destination, ...]
    matrix: Matrix | None = None

    @classmethod
    def from_json(cls, document: object) -> Problem:
        """Return the problem a JSON document describes.

        Parameters
        ----------
        document
            What ``json.load`` returns for a problem file of format 1.

        Raises
        ------
        ProblemNotUsable
            With every fault and its JSON pointer, if there is any.
        """
        faults = problem_faults(document)
        if faults or not isinstance(document, dict):
            raise ProblemNotUsable(faults)
        costs = dict(document["costs"])
        costs.setdefault("unplaced_cents_per_kg", 2 * costs["overflow_cents_per_kg"])
        matrix = document.get("matrix")
        return cls(
            name=document["name"],
            costs=Costs(**costs),
            statuses=tuple(document["statuses"]),
            places=tuple(Place(**place) for place in document["places"]),
            vehicles=tuple(_vehicle(vehicle) for vehicle in document["vehicles"]),
            jobs=tuple(_job(job) for job in document["jobs"]),
            destinations=tuple(
                Destination(
                    **{
                        **d,
                        "accepts": tuple(d["accepts"]),
                        "accepts_until_s": tuple(sorted(d.get("accepts_until_s", {}).items())),
                    }
                )
                for d in document["destinations"]
            ),
            matrix=None
            if matrix is None
            else Matrix(
                distance_m=tuple(tuple(row) for row in matrix["distance_m"]),
                duration_s=tuple(tuple(row) for row in matrix["duration_s"]),
            ),
        )


def _vehicle(document: dict[str, Any]) -> Vehicle:
    return Vehicle(
        **{
            **document,
            "jobs": tuple(document["jobs"]),
            "aboard": tuple(Aboard(**part) for part in document.get("aboard", ())),
            "done": tuple(
                DoneStop(**{**stop, "statuses": tuple(stop.get("statuses", ()))})
                for stop in document.get("done", ())
            ),
            "locked": tuple(Locked(**lock) for lock in document.get("locked", ())),
        }
    )


def _job(document: dict[str, Any]) -> Job:
    first, last = document["window_s"]
    refused = document.get("refused_destinations", {})
    return Job(
        **{
            **document,
            "window_s": (first, last),
            "refused_destinations": tuple(sorted(refused.items())),
        }
    )
