"""Why places take nothing of a load, in words: the routing counts them by code."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

WORDS: Final = {
    "no_destination": "the firm has no place to tip on record",
    "no_room_or_closed": "no room left, or shut by then",
    "not_grown_here": "takes only what grew on its own ground",
    "site_closed_day": "shut on this day",
    "site_closed_hour": "shut at this hour",
    "site_says_closed": "says that it is shut",
    "out_of_reach": "too far away",
    "site_full": "full",
    "site_capacity": "full for this day",
    "site_refuses_status": "does not take such clippings",
    "site_sour_not_said": "has not said whether it takes what has stood too long",
    "site_refuses_sour": "does not take what has stood too long",
    "process_does_not_kill": "its process does not end what is in it",
    "kill_not_shown": "its process is not shown to end what is in it",
    "no_consent": "the client has not agreed",
    "consent_not_yet": "the client's word does not hold yet",
    "consent_expired": "the client's word has run out",
    "bed_closed_day": "the client wants nothing on this day",
    "bed_closed_hour": "the client wants nothing at this hour",
    "consent_mass": "more than the client takes at a time",
    "consent_month_mass": "has what its client takes in a month",
    "consent_mass_least": "less than the client takes at a time",
    "no_legal_basis": "no legal ground on record",
    "exemption_of_elsewhere": "its exemption is one of England and Wales",
    "legal_basis_incomplete": "the legal ground is half on record",
    "legal_basis_expired": "the legal ground has run out",
    "bed_resting": "rests after its last layer",
    "ground_not_fit": "the ground is not fit",
    "drainage_not_fit": "drains too slowly",
    "drainage_unknown": "nobody has said how it drains",
    "too_steep": "too steep",
    "too_near_water": "too near water",
    "water_distance_unknown": "nobody knows how near water is",
    "yearly_mass": "has its mass for the year",
    "monthly_mulch": "has its mulch for the month",
    "yearly_nitrogen": "has its nitrogen for the year",
    "treatment_wait": "the wait after a treatment is not over",
    "in_water_protection_zone": "lies in a water protection zone",
    "organic_certifier_first": "its organic certifier is asked first",
    "leachate_not_caught": "what runs out is not caught",
    "bay_volume": "the bay is full",
    "bay_hot": "a heap in the bay is hot",
    "lot_littered": "does not take litter",
    "lot_sour": "does not take what has turned sour",
    "lot_weedy": "does not take weeds in seed",
    "lot_diseased": "does not take diseased grass",
    "lot_unknown": "does not take grass of which nobody knows what was put on it",
    "layer_depth": "has its depth of fresh clippings",
    "fairness_limit": "has its fair share",
    "grazing_animals_in_reach": "grazing animals reach it",
    "treatment_never": "a treatment closes it for good",
    "treatment_unknown": "what a treatment asks for is not known",
    "turned_away_today": "turned a load away today",
    "turned_away_before": "turned a load away before",
    "already_held": "it has waited in a bay already",
    "held_hot": "does not take a hot heap",
    "held_sour": "does not take a sour heap",
    "held_fire_danger": "the heap may burn",
    "recalled": "a recall is open",
    "bed_tainted": "something lies there that may not",
}


def refused_words(reasons: Iterable[str]) -> str:
    """Return reasons such as ``bed_resting: 2 destinations`` in words, the commonest first."""
    told = []
    for reason in reasons:
        code, _, rest = reason.partition(": ")
        count = rest.partition(" ")[0]
        words = WORDS.get(code, code.replace("_", " "))
        number = int(count) if count.isdecimal() else 0
        places = f" ({number} {'place' if number == 1 else 'places'})" if number else ""
        told.append((-number, f"{words}{places}"))
    return "; ".join(words for _, words in sorted(told))
