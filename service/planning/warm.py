"""Make the compiled code ready before the first question comes."""

from __future__ import annotations

import time

from service.planning.model.problem import Problem
from service.planning.solve import solve


def warm() -> float:
    """Plan a day of one job, so that all code is compiled or loaded; return the seconds it took.

    The very first time on a machine this compiles, about a minute; the machine code
    is kept, later processes load it in a fraction of a second.
    """
    started = time.perf_counter()
    solve(Problem.from_json(one_job()))
    return time.perf_counter() - started


def one_job() -> dict[str, object]:
    """Return a day of one vehicle with one job, and two places that take what it loads."""
    place = {"id": "here", "x_m": 0, "y_m": 0}
    return {
        "format": 1,
        "name": "warm",
        "costs": {
            "drive_cents_per_km": 100,
            "late_cents_per_min": 100,
            "overtime_cents_per_min": 100,
            "overflow_cents_per_kg": 100,
            "speed_m_per_min": 600,
            "detour_permille": 1000,
            "minimum_tip_kg": 30,
            "tips_between_jobs": 2,
        },
        "statuses": ["any"],
        "places": [place, {"id": "there", "x_m": 1000, "y_m": 0}],
        "vehicles": [
            {
                "id": "V",
                "start_place": "here",
                "end_place": "here",
                "shift_start_s": 0,
                "shift_end_s": 36_000,
                "payload_kg": 1000,
                "body_l": 4000,
                "jobs": ["J"],
            }
        ],
        "jobs": [
            {
                "id": "J",
                "place": "there",
                "mass_kg": 100,
                "volume_l": 400,
                "status": "any",
                "service_s": 600,
                "window_s": [0, 36_000],
            }
        ],
        "destinations": [
            {
                "id": name,
                "kind": "bed",
                "place": "there",
                "capacity_kg": room,
                "fee_cents_per_t": fee,
                "accepts": ["any"],
                "tip_s": 60,
                "stop_cents": 100,
                "open_s": 0,
                "close_s": 86_400,
            }
            for name, room, fee in (("near", 60, 0), ("far", 1000, 10))
        ],
    }
