"""A routing as it was told, read back: what the plan before knew."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from service.core.plans import DayPlan

Told = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldDay:
    """Vehicles, lots and destinations of a routing, by the ids of their records."""

    vehicles: dict[str, Told] = field(default_factory=dict)
    lots: dict[str, Told] = field(default_factory=dict)
    destinations: dict[str, Told] = field(default_factory=dict)
    unplaced_kg: int = 0
    local_answers: int = 0

    @classmethod
    def of(cls, plan: DayPlan | None) -> ToldDay:
        """Return what a plan told; nothing if there is none."""
        if plan is None:
            return cls()
        routing: Told = plan.routing
        return cls(
            vehicles={told["vehicle_id"]: told for told in routing["vehicles"]},
            lots={told["job_id"]: told for told in routing["lots"]},
            destinations={told["destination_id"]: told for told in routing["destinations"]},
            unplaced_kg=sum(told["mass_high_kg"] for told in routing["unplaced"]),
            local_answers=routing.get("planning", {}).get("local_answers", 0),
        )

    def scarcity_cents_per_t(self, destination_id: UUID) -> int:
        """Return what another tonne of room was worth at a destination."""
        return int(self.destinations.get(str(destination_id), {}).get("scarcity_cents_per_t", 0))
