"""What moved between two plans of a day, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.planning.model.result import Plan, VehiclePlan

Key = tuple[str, str | None, str]  # vehicle, job before, destination


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One tip that differs between two plans.

    ``kind`` is added, removed or amount; ``before_kg`` and ``after_kg`` are 0 where there is none.
    ``cause`` is why the vehicle was planned again at all, if that is known.
    """

    vehicle: str
    after_job: str | None
    destination: str
    kind: str
    before_kg: int
    after_kg: int
    reason: str
    cause: str = ""


def differences(before: Plan, after: Plan, causes: Mapping[str, str] | None = None) -> list[Change]:
    """Return what moved between two plans of a day, and the new plan's reason for it.

    Parameters
    ----------
    causes
        Why vehicles were planned again, by their ids.
    """
    same = {id(vehicle) for vehicle in before.vehicles} & {id(v) for v in after.vehicles}
    old = _tips([v for v in before.vehicles if id(v) not in same])
    new = _tips([v for v in after.vehicles if id(v) not in same])
    jobs = {(v.id, stop.job) for v in after.vehicles if id(v) not in same for stop in v.stops}
    found = []
    for key in [*old, *(key for key in new if key not in old)]:
        (was, _), (becomes, reason) = old.get(key, (0, "")), new.get(key, (0, ""))
        if was == becomes:
            continue
        kind = "added" if key not in old else "removed" if key not in new else "amount"
        if kind == "removed":
            instead = [
                f"{name} {kg} kg: {why}"
                for (vehicle, job, name), (kg, why) in new.items()
                if (vehicle, job) == key[:2] and (vehicle, job, name) not in old
            ]
            if instead:
                reason = "instead " + "; ".join(instead)
            elif key[1] is None or key[:2] in jobs:
                reason = "the load goes on"
            else:
                reason = f"{key[0]} no longer has {key[1]}"
        found.append(
            Change(
                vehicle=key[0],
                after_job=key[1],
                destination=key[2],
                kind=kind,
                before_kg=was,
                after_kg=becomes,
                reason=reason,
                cause=(causes or {}).get(key[0], ""),
            )
        )
    return found


def _tips(vehicles: list[VehiclePlan]) -> dict[Key, tuple[int, str]]:
    """Return kilograms and reason of each tip, by vehicle, job before and destination."""
    tips: dict[Key, tuple[int, str]] = {}
    for vehicle in vehicles:
        job = None
        for stop in vehicle.stops:
            if stop.job is not None:
                job = stop.job
            elif stop.destination is not None:
                key = (vehicle.id, job, stop.destination)
                tips[key] = (tips.get(key, (0, ""))[0] + stop.mass_kg, stop.reason)
    return tips
