"""What a plan's kilometres and leftovers cost: common practice, no source."""

from __future__ import annotations

from service.planning.model.problem import Costs

# What a minute of a crew costs, two people with their gear; common practice, no source.
CREW_CENTS_PER_MIN = 60

# The firm's prices of a plan; common practice, no source. Whole hundredths of its currency.
COSTS = Costs(
    drive_cents_per_km=120,
    late_cents_per_min=150,
    overtime_cents_per_min=100,
    overflow_cents_per_kg=200,
    speed_m_per_min=500,  # not used: the service always hands in a matrix
    detour_permille=1000,  # nor this
    minimum_tip_kg=30,
    tips_between_jobs=2,
    unplaced_cents_per_kg=400,
    change_cents_per_stop=200,  # what sending a crew elsewhere than it was told is worth
)
