"""A site that no vehicle of a yard drives to and back in a day: its own word says nothing of it."""

from __future__ import annotations

from service.core.distances import OUT_OF_REACH_KM, apart_km
from service.core.places import Point
from service.core.plans import RuleClass
from service.destinations.reasons import Reason, refusal


def out_of_reach(site: Point, yard: Point | None) -> Reason | None:
    """Return that a site lies too far from a yard, if it does; of no yard nothing is known."""
    away_km = 0.0 if yard is None else apart_km(site, yard)
    if away_km <= OUT_OF_REACH_KM:
        return None
    return refusal(
        RuleClass.ROAD,
        "out_of_reach",
        f"It lies {away_km:,.0f} km from the yard: no vehicle drives there and back in a day.",
        away_km=round(away_km),
    )
