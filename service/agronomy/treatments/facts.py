"""What is known of a treatment: the product, its actives, its clocks, its label, its rules."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


class WaitRule(Protocol):
    """A wait of the rule table; its rows have these fields."""

    @property
    def substance(self) -> str:
        """ISO common name of the active ingredient."""

    @property
    def destination(self) -> str:
        """Kind of destination: bed, edible_bed, compost_site or lawn."""

    @property
    def days(self) -> int:
        """Whole days that must have passed."""

    @property
    def mowings(self) -> int:
        """Mowings that must have passed, this one not counted."""

    @property
    def composting_days(self) -> int:
        """Days of composting still needed at the destination."""

    @property
    def never(self) -> bool:
        """Whether it may never go there."""

    @property
    def bioassay_ends(self) -> bool:
        """Whether a bioassay that passed ends a never."""

    @property
    def kind(self) -> str:
        """Law, label, advice or measured."""

    @property
    def where(self) -> str:
        """The place in the source."""

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelWait:
    """What the label of the product itself says; what it does not say is None.

    Parameters
    ----------
    days, mowings
        Days and mowings clippings stay away from mulch and compost [d, 1].
    never
        The label forbids it without an end.
    destinations
        Kinds the label speaks of; empty means every kind but the lawn itself.
    stated_by
        Who read it: "label in hand", "spray record", ...
    """

    days: int | None = None
    mowings: int | None = None
    never: bool = False
    destinations: tuple[str, ...] = ()
    stated_by: str = "label"


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentFact:
    """One treatment of a lawn, as far as it is known.

    Parameters
    ----------
    product
        What the record calls it, for the answer.
    substances
        ISO names of all its active ingredients; empty if they are not known.
    waits
        Rows of the rule table for those substances, in force on the day.
    days_since
        Whole days since the treatment [d], >= 0; None if not known.
    mowings_since
        Mowings since, by anybody, before the cut in question [1], >= 0; None
        if not known.
    label
        The label's own wait; None if it is silent or not at hand.
    bioassay_passed
        Whether plants that the product harms grew well in clippings cut since.
    """

    product: str
    substances: tuple[str, ...]
    waits: Sequence[WaitRule]
    days_since: int | None
    mowings_since: int | None
    label: LabelWait | None = None
    bioassay_passed: bool = False
