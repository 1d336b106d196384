"""A bed that turned sour, or plants that cup and twist: what to do, and when.

Steps carry days from today, not dates, and codes, not words: the documents say
them in the reader's language. Smell is a nuisance and dealt with here; gas in a
closed pit, shaft, tank or body is deadly and is not: nobody goes in, nobody goes
after somebody without breathing gear, and the emergency service is called.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.agronomy.estimates.validity import within
from service.core.measures.units import LITRES_PER_M3, MM_PER_M


class SourStep(StrEnum):
    """One thing to do on a soured bed."""

    STAY_UPWIND_WITH_GLOVES = "stay_upwind_with_gloves"
    NEVER_INTO_PITS_OR_TANKS = "never_into_pits_or_tanks"
    RAKE_APART = "rake_apart"
    CARRY_OFF_SURPLUS = "carry_off_surplus"
    MIX_IN_BROWNS = "mix_in_browns"
    KEEP_OFF_PLANTS = "keep_off_plants"
    SMELL_AGAIN = "smell_again"
    CALL_FOR_COLLECTION = "call_for_collection"
    LAY_NOTHING_NEW_UNTIL = "lay_nothing_new_until"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A step with its day, counted from today [d], and how much of it.

    Parameters
    ----------
    step
        What to do.
    day_offset
        Days from today [d].
    amount
        Depth, volume or mass that belongs to it; None if none does.
    unit
        "mm", "L" or "kg"; empty without an amount.
    """

    step: SourStep
    day_offset: int
    amount: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SouredBedPlan:
    """What to do with a soured bed.

    Parameters
    ----------
    steps
        In order of their days.
    browns_litres, browns_kg
        Dry browns to have at hand [L], [kg].
    surplus_kg
        Clippings that do not fit on the bed at the thin depth [kg].
    free_again_day
        First day a new layer may be laid, counted from today [d].
    """

    steps: tuple[Step, ...]
    browns_litres: float
    browns_kg: float
    surplus_kg: float
    free_again_day: int


def soured_bed_plan(
    *,
    area_m2: float,
    depth_mm: float,
    density_kg_per_m3: float,
    thin_depth_mm: float,
    browns_per_green: float,
    browns_density_kg_per_m3: float,
    keep_off_plants_days: int,
    smell_again_days: int,
) -> SouredBedPlan:
    """Return steps and materials for a bed that turned sour.

    Parameters
    ----------
    area_m2
        Area of the bed [m2], 0.1 to 100,000.
    depth_mm
        How deep the sour clippings lie, before browns are forked in [mm], 1 to 1,000.
    density_kg_per_m3
        Its wet mass per volume [kg/m3], 50 to 1,500.
    thin_depth_mm
        Depth they are raked down to, before browns are forked in [mm], 1 to 50.
    browns_per_green
        Volumes of dry browns forked in per volume that stays [m3/m3], 0 to 10.
    browns_density_kg_per_m3
        Wet mass per volume of the browns [kg/m3], 5 to 1,500.
    keep_off_plants_days
        Days it is kept off stems and leaves [d], 1 to 60.
    smell_again_days
        Days until the nose decides [d], 1 to 14.

    Raises
    ------
    OutsideValidity

    Notes
    -----
    What lies deeper than the thin depth is carried off; browns go with what
    stays. The numbers are common practice, no source.
    """
    within("area_m2", area_m2, low=0.1, high=1e5, unit="m2")
    within("depth_mm", depth_mm, low=1, high=1000, unit="mm")
    within("density_kg_per_m3", density_kg_per_m3, low=50, high=1500, unit="kg/m3")
    within("thin_depth_mm", thin_depth_mm, low=1, high=50, unit="mm")
    within("browns_per_green", browns_per_green, low=0, high=10, unit="1")
    within("browns_density_kg_per_m3", browns_density_kg_per_m3, low=5, high=1500, unit="kg/m3")
    within("keep_off_plants_days", keep_off_plants_days, low=1, high=60, unit="d")
    within("smell_again_days", smell_again_days, low=1, high=14, unit="d")
    stays_mm = min(depth_mm, thin_depth_mm)
    surplus_kg = (depth_mm - stays_mm) / MM_PER_M * area_m2 * density_kg_per_m3
    browns_m3 = stays_mm / MM_PER_M * area_m2 * browns_per_green
    steps = [
        Step(step=SourStep.STAY_UPWIND_WITH_GLOVES, day_offset=0),
        Step(step=SourStep.NEVER_INTO_PITS_OR_TANKS, day_offset=0),
        Step(step=SourStep.RAKE_APART, day_offset=0, amount=stays_mm, unit="mm"),
        Step(
            step=SourStep.MIX_IN_BROWNS,
            day_offset=0,
            amount=browns_m3 * LITRES_PER_M3,
            unit="L",
        ),
        Step(step=SourStep.KEEP_OFF_PLANTS, day_offset=0),
        Step(step=SourStep.SMELL_AGAIN, day_offset=smell_again_days),
        Step(step=SourStep.CALL_FOR_COLLECTION, day_offset=smell_again_days),
        Step(step=SourStep.LAY_NOTHING_NEW_UNTIL, day_offset=keep_off_plants_days),
    ]
    if surplus_kg > 0:
        carry = Step(step=SourStep.CARRY_OFF_SURPLUS, day_offset=0, amount=surplus_kg, unit="kg")
        steps.insert(3, carry)
    return SouredBedPlan(
        steps=tuple(steps),
        browns_litres=browns_m3 * LITRES_PER_M3,
        browns_kg=browns_m3 * browns_density_kg_per_m3,
        surplus_kg=surplus_kg,
        free_again_day=keep_off_plants_days,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class BioassayPlan:
    """Peas or beans in pots: what to prepare, and when to look.

    Parameters
    ----------
    test_pots, control_pots
        Pots with the suspect material, and without it.
    seeds_per_pot, seeds
        Pea or bean seeds a pot, and in all.
    material_litres, potting_mix_litres
        Suspect material and potting mix to have at hand [L].
    look_first_day, look_last_day
        When three sets of true leaves are due, from sowing [d].
    leaf_sets
        Sets of true leaves to wait for.
    """

    test_pots: int
    control_pots: int
    seeds_per_pot: int
    seeds: int
    material_litres: float
    potting_mix_litres: float
    look_first_day: int
    look_last_day: int
    leaf_sets: int


def bioassay_plan(
    *, test_pots: int = 3, control_pots: int = 3, pot_litres: float = 0.75
) -> BioassayPlan:
    """Return what a bean or pea bioassay of suspect material needs.

    Parameters
    ----------
    test_pots
        Pots with two parts of material to one of potting mix, 3 to 6.
    control_pots
        Pots with potting mix alone, 3 to 6, watered apart from the others.
    pot_litres
        Volume of a pot [L], 0.2 to 5.

    Raises
    ------
    OutsideValidity

    References
    ----------
    [osu-bioassay] 3 to 6 pots, 2:1, three seeds, two to three weeks, three sets
    of true leaves; [wsu-bioassay] the same protocol for gardeners.
    """
    within("test_pots", test_pots, low=3, high=6, unit="pots")
    within("control_pots", control_pots, low=3, high=6, unit="pots")
    within("pot_litres", pot_litres, low=0.2, high=5, unit="L")
    return BioassayPlan(
        test_pots=test_pots,
        control_pots=control_pots,
        seeds_per_pot=3,
        seeds=3 * (test_pots + control_pots),
        material_litres=test_pots * pot_litres * 2 / 3,
        potting_mix_litres=test_pots * pot_litres / 3 + control_pots * pot_litres,
        look_first_day=14,
        look_last_day=21,
        leaf_sets=3,
    )
