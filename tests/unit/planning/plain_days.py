"""Days that can be worked out on paper: one vehicle, places on a line, 1.20 a kilometre."""

from __future__ import annotations

from typing import Any

from service.planning.model.problem import Problem

YARD, BED, LAWN = "yard", "bed", "lawn"  # at 0, 1,500 and 3,000 m
MORNING_S, EVENING_S = 7 * 3600, 17 * 3600
OPEN = {"accepts": ["clean", "weedy"], "tip_s": 480, "open_s": 0, "close_s": 86_400}


def lot(name: str, mass_kg: int, **other: Any) -> dict[str, Any]:
    return {
        "id": name,
        "place": LAWN,
        "mass_kg": mass_kg,
        "volume_l": 4 * mass_kg,
        "status": "clean",
        "service_s": 1800,
        "window_s": [MORNING_S, EVENING_S],
        **other,
    }


def bed(capacity_kg: int, **other: Any) -> dict[str, Any]:
    near = {"id": "B", "kind": "bed", "place": BED, "fee_cents_per_t": 0, "stop_cents": 300}
    return OPEN | near | {"capacity_kg": capacity_kg} | other


def bay(capacity_kg: int, **other: Any) -> dict[str, Any]:
    home = {"id": "H", "kind": "hold", "place": YARD, "fee_cents_per_t": 25_000, "stop_cents": 200}
    return OPEN | home | {"capacity_kg": capacity_kg} | other


def document(
    jobs: list[dict[str, Any]],
    destinations: list[dict[str, Any]],
    locked: list[dict[str, Any]] | None = None,
    **costs: int,
) -> dict[str, Any]:
    """Return the day of one vehicle as a problem document."""
    return {
        "format": 1,
        "name": "plain",
        "costs": {
            "drive_cents_per_km": 120,
            "late_cents_per_min": 150,
            "overtime_cents_per_min": 100,
            "overflow_cents_per_kg": 200,
            "speed_m_per_min": 633,
            "detour_permille": 1300,
            "minimum_tip_kg": 30,
            "tips_between_jobs": 2,
            **costs,
        },
        "statuses": ["clean", "weedy"],
        "places": [
            {"id": YARD, "x_m": 0, "y_m": 0},
            {"id": BED, "x_m": 1500, "y_m": 0},
            {"id": LAWN, "x_m": 3000, "y_m": 0},
        ],
        "vehicles": [
            {
                "id": "V1",
                "start_place": YARD,
                "end_place": YARD,
                "shift_start_s": MORNING_S,
                "shift_end_s": EVENING_S,
                "payload_kg": 1000,
                "body_l": 4000,
                "jobs": [job["id"] for job in jobs],
                "locked": locked or [],
            }
        ],
        "jobs": jobs,
        "destinations": destinations,
    }


def plain_day(*args: Any, **costs: int) -> Problem:
    """Return the same as a problem."""
    return Problem.from_json(document(*args, **costs))
