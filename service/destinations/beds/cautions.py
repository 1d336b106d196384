"""What a crew must know of a bed, and grazing animals at it: a fence, or nothing is laid.

Clippings in a heap ferment within hours. Horses that eat them get colic, laminitis or botulism,
and die of it; the cases are clippings that somebody tipped where they reach over [bhs-2002]
[getty-clippings]. Other animals that graze are kept off for the same reason and because yard waste
holds plants that poison them [osu-yard-waste].
"""

from __future__ import annotations

from dataclasses import replace

from service.core.places import Animals, Bed, GroundState
from service.core.plans import RuleClass, Verdict
from service.destinations.ready import DepotDay
from service.destinations.reasons import Reason, refusal
from service.destinations.verdicts import Caution

WET_GROUND = frozenset({GroundState.WATERLOGGED, GroundState.FROZEN, GroundState.SNOW})
GRAZING = frozenset({Animals.HORSES, Animals.GRAZING})
SOURCES = ("bhs-2002", "getty-clippings", "osu-yard-waste")
REFUSAL = "grazing_animals_in_reach"
NOBODY_LOOKED = (
    "Nobody has said whether horses or other grazing animals stand at or beside it: ask, or look "
    "before anything is laid."
)
WORDS = {Animals.HORSES: "Horses", Animals.GRAZING: "Grazing animals"}


def grazing_at(bed: Bed) -> tuple[Animals, ...]:
    """Return the grazing animals that reach the bed or stand beside it, horses first."""
    found = GRAZING & {*bed.animals, *(bed.animals_beside or ())}
    return tuple(kind for kind in WORDS if kind in found)


def animals_reason(bed: Bed) -> Reason | None:
    """Return why nothing is laid where grazing animals get at it, or None."""
    found = grazing_at(bed)
    if not found or bed.grazing_fenced:
        return None
    fence = (
        "no fence keeps them from it"
        if bed.grazing_fenced is False
        else "nobody has recorded a fence that keeps them from it"
    )
    where = "reach" if GRAZING & set(bed.animals) else "stand beside"
    return refusal(
        RuleClass.ADVICE,
        REFUSAL,
        f"{' and '.join(WORDS[kind] for kind in found)} {where} this bed, and {fence}: "
        "grass clippings can kill what eats them.",
        sources=SOURCES,
        animals=[kind.value for kind in found],
        grazing_fenced=bed.grazing_fenced,
    )


def asked_about_animals(verdict: Verdict, bed: Bed) -> Verdict:
    """Return what a bed says with the question that is open, if nobody has looked about there.

    It is asked and not held against the bed: the crew stands there before it lays anything.
    """
    if not _nobody_looked(bed):
        return verdict
    return replace(
        verdict,
        sentence=f"{verdict.sentence} {NOBODY_LOOKED}",
        facts={**verdict.facts, "animals_beside": "not_known"},
    )


def _nobody_looked(bed: Bed) -> bool:
    return bed.animals_beside is None and not grazing_at(bed)


def _of_animals(bed: Bed) -> tuple[Caution, ...]:
    """Return the word to whoever lays clippings beside fenced animals, or where nobody looked."""
    if _nobody_looked(bed):
        return (Caution(code="look_for_animals"),)
    code = {Animals.HORSES: "horses_behind_fence", Animals.GRAZING: "grazing_behind_fence"}
    return tuple(Caution(code=code[kind]) for kind in grazing_at(bed))


def ground_now(bed: Bed, *, age_h: float | None, age_max_h: float) -> GroundState:
    """Return the state of the ground as far as the word on it still stands, else unknown.

    Parameters
    ----------
    age_h
        Since somebody looked [h]; None if it is not recorded when. Then a word that the ground is
        not fit stands until somebody looks again, and a word that it is fit does not.
    age_max_h
        How long a word stands [h].
    """
    if age_h is None:
        return bed.ground_state if bed.ground_state in WET_GROUND else GroundState.UNKNOWN
    return bed.ground_state if age_h <= age_max_h else GroundState.UNKNOWN


def ground_on(bed: Bed, at: DepotDay) -> GroundState:
    """Return the state of the ground of a bed on a depot's day, by the rule for its word."""
    age_max_h = at.here.value("ground_state_age_hours_max")
    return ground_now(bed, age_h=at.hours_since(bed.ground_state_at), age_max_h=age_max_h)


def bed_cautions(bed: Bed, *, ground: GroundState) -> tuple[Caution, ...]:
    """Return what is on record of a bed that changes how clippings are laid on it."""
    found = list(_of_animals(bed))
    if ground is GroundState.UNKNOWN:
        found.append(Caution(code="look_at_ground"))
    if bed.sensitive_plants is not None:
        found.append(Caution(code="sensitive_plants", gaps=(("plants", bed.sensitive_plants),)))
    if bed.where_to_lay is not None:
        found.append(Caution(code="where_to_lay", gaps=(("where", bed.where_to_lay),)))
    return tuple(found)
