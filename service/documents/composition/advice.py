"""Steps, distances and cautions: chosen from this load and this bed, never all that exist."""

from collections.abc import Iterable

from service.documents.composition.answers import lot_codes, too_much_lines
from service.documents.composition.content import Line, Tone, line
from service.documents.facts.bed import Animal, Drainage
from service.documents.facts.note import Finding, NoteFacts
from service.documents.facts.values import AreaAtDepth, Listed, Quantity, Rounding, Unit

# A wet sack of about 60 L weighs 25 kg at 400 kg/m3; above that two people lift
# (25 kg: the guideline figure for a man lifting close to the body at waist height,
# Health and Safety Executive, INDG143, manual handling at work, from memory).
_LIFTING_KG = 25.0
_GROUND = {
    Drainage.FREE: "spread.ground",
    Drainage.MODERATE: "spread.ground",
    Drainage.POOR: "spread.ground_slow",
    Drainage.NOT_KNOWN: "spread.ground_not_known",
}


def too_much_steps(facts: NoteFacts) -> Iterable[Line]:
    """Yield what to do with a load that is more than its bed may have."""
    too_much = facts.guidance.too_much
    if too_much is not None:
        yield from too_much_lines(too_much)
        yield line("too_much.all" if too_much.is_all else "too_much.rest")
        yield line("too_much.call", phone=facts.sender.phone)


def spread_steps(facts: NoteFacts) -> Iterable[Line]:
    """Yield the steps in the order they are done on this bed."""
    guidance, bed = facts.guidance, facts.bed
    if guidance.wilting is not None:
        yield line(
            "spread.wilt_first",
            hours_low=Quantity(value=guidance.wilting.hours_low, unit=Unit.HOUR),
            hours_high=Quantity(value=guidance.wilting.hours_high, unit=Unit.HOUR),
            tone=Tone.CARE,
        )
    else:
        yield line("spread.today")
    yield line(_GROUND[bed.drainage])
    if guidance.base is not None:
        yield line(f"spread.base.{guidance.base.material}", depth=_about_mm(guidance.base.depth_mm))
    depth = Quantity(value=guidance.depth_mm, unit=Unit.MILLIMETRE, rounding=Rounding.AT_MOST)
    if guidance.area_covered_m2 < bed.area_m2:
        area = AreaAtDepth(area_m2=guidance.area_covered_m2, depth=depth, area_max_m2=bed.area_m2)
        yield line("spread.lay", depth=depth, area=area)
    else:
        yield line("spread.lay_whole_bed", depth=depth)
    if guidance.browns is not None:
        # After the grass is laid: the depth is the grass's own, before leaves loosen it.
        yield line(f"spread.mix.{guidance.browns.material}")
        if guidance.has_leaves:
            yield line("spread.leaves_in_it")
    if bed.sloping:
        yield line("spread.slope")
    if guidance.cover is not None:
        yield line(
            f"spread.cover.{guidance.cover.material}", depth=_about_mm(guidance.cover.depth_mm)
        )
    if guidance.layers > 1 and guidance.too_much is None:
        yield line(
            "spread.next_layer",
            layers=Quantity(value=guidance.layers, unit=Unit.LAYER),
            rest=Quantity(value=guidance.days_between_layers, unit=Unit.DAY),
        )
    if guidance.no_more_before is not None:
        yield line("spread.no_more_before", day=guidance.no_more_before)


def keep_off(facts: NoteFacts) -> Iterable[Line]:
    """Yield the distances to keep, those this place has."""
    distances = facts.guidance.keep_off
    yield line("keep_off.stems", distance=_at_least_mm(distances.stems_mm))
    yield line("keep_off.trunks", distance=_at_least_mm(distances.trunks_mm))
    if distances.water_m is not None:
        yield line("keep_off.water", distance=_at_least_m(distances.water_m))
    if distances.wells_m is not None:
        yield line("keep_off.wells", distance=_at_least_m(distances.wells_m))
    if facts.bed.near_drain_or_paving:
        yield line("keep_off.paving", tone=Tone.CARE)


def cautions(facts: NoteFacts) -> Iterable[Line]:
    """Yield the cautions this load on this bed calls for."""
    seeding = [o for o in facts.origins if Finding.WEEDS_IN_SEED in o.findings]
    if seeding:
        yield line("caution.weeds", lots=Listed(names=lot_codes(seeding)), tone=Tone.CARE)
    diseased = [o for o in facts.origins if Finding.DISEASE in o.findings]
    if diseased:
        yield line("caution.disease", lots=Listed(names=lot_codes(diseased)), tone=Tone.CARE)
    if not facts.bed.animals & {Animal.HORSES, Animal.GRAZING}:
        yield line("caution.never_as_feed")
    yield line("caution.gloves")
    yield line("caution.heat")
    yield line("caution.mould")
    if _heaviest_kg(facts) >= _LIFTING_KG:
        yield line("caution.lifting")
    yield line("caution.no_climbing")


def sour_steps(facts: NoteFacts) -> Iterable[Line]:
    """Yield what to do if the grass smells of vinegar or rot, or turns to slime."""
    practice = facts.practice
    yield line("sour.gloves")
    yield line(
        "sour.spread_or_mix",
        depth=Quantity(
            value=practice.sour_spread_mm, unit=Unit.MILLIMETRE, rounding=Rounding.AT_MOST
        ),
        parts=practice.sour_browns_parts,
    )
    yield line("sour.off_plants", rest=Quantity(value=practice.sour_off_plants_days, unit=Unit.DAY))
    yield line(
        "sour.call",
        wait=Quantity(value=practice.sour_call_after_hours, unit=Unit.HOUR),
        phone=facts.sender.phone,
    )


def damage_steps(facts: NoteFacts) -> Iterable[Line]:
    """Yield what to do if leaves cup, curl or twist."""
    practice = facts.practice
    yield line("damage.stop")
    yield line("damage.rake_off")
    yield line("damage.call", phone=facts.sender.phone, lots=Listed(names=lot_codes(facts.origins)))
    yield line(
        "damage.test",
        pots=practice.test_pots,
        beans=practice.test_beans,
        parts=practice.test_mulch_parts,
        weeks_low=practice.test_weeks_low,
        weeks_high=practice.test_weeks_high,
    )


def _heaviest_kg(facts: NoteFacts) -> float:
    """Return the wet end of what is known about the mass [kg]."""
    amount = facts.amount
    if amount.weighed is not None:
        return amount.weighed.net_kg
    return amount.estimate_kg.high if amount.estimate_kg is not None else 0.0


def _about_mm(value: float) -> Quantity:
    return Quantity(value=value, unit=Unit.MILLIMETRE, rounding=Rounding.ABOUT)


def _at_least_mm(value: float) -> Quantity:
    return Quantity(value=value, unit=Unit.MILLIMETRE, rounding=Rounding.AT_LEAST)


def _at_least_m(value: float) -> Quantity:
    return Quantity(value=value, unit=Unit.METRE, rounding=Rounding.AT_LEAST)
