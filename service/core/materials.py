"""What a lot of clippings may be, and which finding wins when lots are mixed."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum


class LotStatus(StrEnum):
    """The status of a lot, from best to worst.

    Unknown stands above treated: a treatment that is known has a clock that ends,
    an unknown one has none. Littered is worst: nobody but the hold bay takes it.
    Sour is what has stood too long; it is known by the clock, so a record keeps it
    of a load alone.
    """

    CLEAN = "clean"
    SOUR = "sour"
    WEEDY = "weedy"
    DISEASED = "diseased"
    TREATED = "treated"
    UNKNOWN = "unknown"
    LITTERED = "littered"


STATUS_ORDER = tuple(LotStatus)


def worst_status(statuses: Iterable[LotStatus]) -> LotStatus:
    """Return the worst of the statuses; of none at all, unknown (never clean)."""
    found = list(statuses)
    if not found:
        return LotStatus.UNKNOWN
    return max(found, key=STATUS_ORDER.index)


class GrassKind(StrEnum):
    """Kind of turf by season of growth."""

    COOL_SEASON = "cool_season"
    WARM_SEASON = "warm_season"
    MIXED = "mixed"
    UNKNOWN = "unknown"


class Wetness(StrEnum):
    """State of the grass when it was cut."""

    DRY = "dry"
    DEWY = "dewy"
    RAINED_ON = "rained_on"
    LUSH = "lush"
    UNKNOWN = "unknown"


class TreatmentHistory(StrEnum):
    """What the crew could learn of the lawn's treatments; unknown is not none."""

    KNOWN = "known"
    NONE_RECORDED = "none_recorded"
    UNKNOWN = "unknown"


class ClippingsHandling(StrEnum):
    """Whether the clippings were, or are to be, picked up."""

    COLLECTED = "collected"
    LEFT = "left"
