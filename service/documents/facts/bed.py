"""What a note says about the bed: what it is, and how the clippings are to be laid on it."""

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from service.documents.facts.refusals import NoteFactNotUsable


class Animal(StrEnum):
    """Animals that live at the place or have the run of it."""

    DOGS = "dogs"
    CATS = "cats"
    POULTRY = "poultry"
    HORSES = "horses"
    GRAZING = "grazing"
    """Goats, sheep, cattle, rabbits: whatever eats grass and is not a horse."""


class Drainage(StrEnum):
    """How fast the ground of the bed takes water."""

    FREE = "free"
    MODERATE = "moderate"
    POOR = "poor"
    NOT_KNOWN = "not_known"


class BindingLimit(StrEnum):
    """Which kind of limit set the depth: the one that would be broken first."""

    PRACTICE = "practice"
    LEDGER = "ledger"
    PHYSICS = "physics"


class LimitOf(StrEnum):
    """Whose limit a load is more than: only where a law binds it is called one."""

    LAW = "law"
    CLIENT = "client"
    ADVICE = "advice"


class DryMaterial(StrEnum):
    """Dry brown materials that are mixed in, laid under or laid over."""

    DRY_LEAVES = "dry_leaves"
    STRAW = "straw"
    SHREDDED_CARDBOARD = "shredded_cardboard"
    WOOD_CHIPS = "wood_chips"


def refuse_unless_positive(owner: object, *fields: str) -> None:
    """Refuse a field that is not a finite number above zero; None means not stated.

    Raises
    ------
    NoteFactNotUsable
        With the name of the field.
    """
    for field in fields:
        value = getattr(owner, field)
        if value is not None and not (math.isfinite(value) and value > 0):
            raise NoteFactNotUsable(field=field, value=value, allowed="a number above 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class BedFacts:
    """The bed that receives the load, as far as it decides what the note says.

    Parameters
    ----------
    name
        What the client calls it.
    area_m2
        Area of the bed [m2], > 0.
    grows_food
        Whether anything in it is eaten.
    organic
        Whether the ground is certified organic or under conversion.
    animals
        Animals at the place.
    sloping
        Whether rain can carry loose grass off the bed.
    drainage
        How fast the ground takes water.
    near_drain_or_paving
        Whether a drain, gutter, road or paving borders the bed.
    sensitive_plants
        What the record names as sensitive there; empty if nothing.
    """

    name: str
    area_m2: float
    grows_food: bool
    organic: bool
    animals: frozenset[Animal]
    sloping: bool
    drainage: Drainage
    near_drain_or_paving: bool
    sensitive_plants: str = ""

    def __post_init__(self) -> None:
        """Refuse an area that is none."""
        refuse_unless_positive(self, "area_m2")


@dataclass(frozen=True, slots=True, kw_only=True)
class Browns:
    """Dry material to mix into the clippings: one amount, said in three ways.

    Parameters
    ----------
    material
        Which dry material.
    mass_kg, volume_litres
        As bought [kg], [L], > 0.
    bags, bag_litres
        Whole bags, rounded up, of so many litres each; both or neither.
    """

    material: DryMaterial
    mass_kg: float
    volume_litres: float
    bags: int | None = None
    bag_litres: float | None = None

    def __post_init__(self) -> None:
        """Refuse an amount that is none, or bags without their size."""
        refuse_unless_positive(self, "mass_kg", "volume_litres", "bags", "bag_litres")
        if (self.bags is None) != (self.bag_litres is None):
            raise NoteFactNotUsable(
                field="bags", value=self.bags, allowed="given together with bag_litres"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class DryLayer:
    """A layer of dry material under or over the clippings, > 0 mm deep."""

    material: DryMaterial
    depth_mm: float

    def __post_init__(self) -> None:
        """Refuse a depth that is none."""
        refuse_unless_positive(self, "depth_mm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wilting:
    """How long wet clippings lie thinly spread before they are laid [h]."""

    hours_low: float
    hours_high: float

    def __post_init__(self) -> None:
        """Refuse a span that runs backwards."""
        refuse_unless_positive(self, "hours_low", "hours_high")
        if self.hours_low > self.hours_high:
            raise NoteFactNotUsable(
                field="hours_low", value=self.hours_low, allowed="no more than hours_high"
            )


# Less than this of a load is nothing of it.
LEAST_KG: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TooMuch:
    """That a load is more than its bed may have, by whose limit, and what of it may stay.

    Parameters
    ----------
    limit_of
        Whose limit it is.
    allowed_kg
        What may stay [kg], >= 0; below one kilogram it is nothing.
    law_allows_kg
        What the law allows of it [kg], >= 0, where another's limit leaves less and the load is
        more than the law allows too; else None.
    """

    limit_of: LimitOf
    allowed_kg: float
    law_allows_kg: float | None = None

    def __post_init__(self) -> None:
        """Refuse less than nothing."""
        for field, value in (
            ("allowed_kg", self.allowed_kg),
            ("law_allows_kg", self.law_allows_kg or 0.0),
        ):
            if not (math.isfinite(value) and value >= 0):
                raise NoteFactNotUsable(field=field, value=value, allowed="a number from 0 on")

    @property
    def is_all(self) -> bool:
        """Return whether nothing of the load may stay."""
        return self.allowed_kg < LEAST_KG


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOff:
    """Distances no clippings are laid within: plants in mm, water in m; None if it has none.

    Parameters
    ----------
    stems_mm, trunks_mm
        From soft stems; from trunks and walls [mm].
    water_m, wells_m
        From ditches, ponds and streams; from wells, springs and boreholes [m].
    """

    stems_mm: float
    trunks_mm: float
    water_m: float | None
    wells_m: float | None

    def __post_init__(self) -> None:
        """Refuse a distance that is none."""
        refuse_unless_positive(self, "stems_mm", "trunks_mm", "water_m", "wells_m")


@dataclass(frozen=True, slots=True, kw_only=True)
class Guidance:
    """How this load is laid on this bed. The numbers come from the science and the rules.

    Parameters
    ----------
    depth_mm
        Deepest a layer of fresh clippings may be when it is laid [mm], > 0.
    binding_limit
        Which kind of limit set the depth.
    area_covered_m2
        What this load, or what of it may stay, covers at that depth [m2], > 0; 0 where
        nothing of it may.
    layers
        How many layers the load makes on this bed, >= 1.
    days_between_layers
        Rest between two layers [d], >= 1.
    no_more_before
        First day after that of delivery on which more may come; None if nothing is known
        against it.
    keep_off
        Distances to keep.
    browns
        Dry material to mix in; None if none is needed.
    has_leaves
        Whether leaves of trees came up with some of the grass, how many nobody knows.
    wilting
        Wilting first; None if the grass is dry enough to lay.
    base, cover
        Dry layers under and over the clippings.
    too_much
        That the load is more than the bed may have; None if it is not, or only may be.
    """

    depth_mm: float
    binding_limit: BindingLimit
    area_covered_m2: float
    layers: int
    days_between_layers: int
    no_more_before: date | None
    keep_off: KeepOff
    browns: Browns | None = None
    has_leaves: bool = False
    wilting: Wilting | None = None
    base: DryLayer | None = None
    cover: DryLayer | None = None
    too_much: TooMuch | None = None

    def __post_init__(self) -> None:
        """Refuse a depth, an area or a count that is none."""
        refuse_unless_positive(self, "depth_mm", "layers", "days_between_layers")
        if self.too_much is None or not self.too_much.is_all:
            refuse_unless_positive(self, "area_covered_m2")
