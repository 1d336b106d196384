"""The questions a client has at the door, answered from this load and this bed."""

from collections.abc import Iterable
from typing import Final

from service.documents.composition.content import Answer, Line, Tone, line
from service.documents.facts.bed import LEAST_KG, Animal, LimitOf, TooMuch
from service.documents.facts.note import NoteFacts, Origin, Treatment
from service.documents.facts.values import Listed, Quantity, Rounding, Unit

# More bags than these nobody counts out: then it is said by volume (common practice, no source).
MOST_BAGS: Final = 10
# From here to there a layer is about as thick as a little finger (common practice, no source).
_LITTLE_FINGER_MM = (10.0, 16.0)


def answers(facts: NoteFacts) -> tuple[Answer, ...]:
    """Return the answers in the order the questions are asked; of a recall it comes first."""
    if facts.called_back:
        asked = (
            Answer(question="food", lines=(_food(facts),)),
            Answer(question="animals", lines=tuple(_animals(facts.bed.animals))),
        )
        return (
            Answer(question="call", lines=tuple(called_back_steps(facts))),
            Answer(question="what", lines=(line(f"what.{facts.material}"),)),
            Answer(question="how_much", lines=tuple(_how_much(facts))),
            # The others say what it is good for once it is spread.
            *(answer for answer in asked if answer.tone is Tone.STOP),
        )
    return (
        Answer(question="what", lines=(line(f"what.{facts.material}"),)),
        Answer(question="how_much", lines=tuple(_how_much(facts))),
        Answer(question="where", lines=tuple(_where(facts))),
        Answer(question="how_thick", lines=tuple(_how_thick(facts))),
        *(
            ()
            if may_have_none(facts)
            else (Answer(question="mix_with", lines=tuple(_mix_with(facts))),)
        ),
        Answer(question="food", lines=(_food(facts),)),
        Answer(question="animals", lines=tuple(_animals(facts.bed.animals))),
        Answer(
            question="call",
            lines=(line("call.phone", phone=facts.sender.phone), line("call.refuse")),
        ),
    )


def called_back_steps(facts: NoteFacts) -> Iterable[Line]:
    """Yield what to do with a load that is called back."""
    yield line("called_back.do_not_spread", tone=Tone.STOP)
    yield line("called_back.leave")
    yield line("damage.call", phone=facts.sender.phone, lots=Listed(names=lot_codes(facts.origins)))


def may_have_none(facts: NoteFacts) -> bool:
    """Return whether nothing of the load may stay on its bed."""
    too_much = facts.guidance.too_much
    return too_much is not None and too_much.is_all


def too_much_lines(too_much: TooMuch) -> Iterable[Line]:
    """Yield that a load is more than its bed may have, by whose limit; the law's beside it."""
    yield _too_much_line(too_much.limit_of, too_much.allowed_kg)
    if too_much.law_allows_kg is not None:
        yield _too_much_line(LimitOf.LAW, too_much.law_allows_kg)


def _too_much_line(limit_of: LimitOf, allowed_kg: float) -> Line:
    if allowed_kg < LEAST_KG:
        return line(f"too_much.{limit_of}_none", tone=Tone.STOP)
    allowed = Quantity(value=allowed_kg, unit=Unit.KILOGRAM, rounding=Rounding.AT_MOST)
    return line(f"too_much.{limit_of}", allowed=allowed, tone=Tone.STOP)


def lots_with(facts: NoteFacts, treatment: Treatment) -> tuple[str, ...]:
    """Return the codes of the lots whose records say this, sorted."""
    return lot_codes(origin for origin in facts.origins if origin.treatment is treatment)


def lot_codes(origins: Iterable[Origin]) -> tuple[str, ...]:
    """Return the codes of lots, sorted, each once."""
    return tuple(sorted({origin.lot_code for origin in origins}))


def _how_much(facts: NoteFacts) -> Iterable[Line]:
    amount = facts.amount
    if amount.weighed is not None:
        yield line(
            "how_much.weighed",
            net=Quantity(value=amount.weighed.net_kg, unit=Unit.KILOGRAM),
            ticket=amount.weighed.ticket,
        )
    if amount.estimate_kg is not None:
        beside = "beside_weight" if amount.weighed is not None else "estimated"
        yield line(f"how_much.{beside}", mass=amount.estimate_kg)
        yield line(f"basis.{amount.basis}")
    yield line("how_much.volume", volume=amount.volume_litres)


def _where(facts: NoteFacts) -> Iterable[Line]:
    bed = facts.bed
    yield line(
        "where.only_here", bed=bed.name, area=Quantity(value=bed.area_m2, unit=Unit.SQUARE_METRE)
    )
    if bed.sensitive_plants:
        yield line("where.sensitive", plants=bed.sensitive_plants, tone=Tone.CARE)
    if bed.organic:
        yield line("where.organic", tone=Tone.CARE)


def _how_thick(facts: NoteFacts) -> Iterable[Line]:
    guidance = facts.guidance
    if guidance.too_much is not None:
        yield from too_much_lines(guidance.too_much)
    if may_have_none(facts):
        return
    depth = Quantity(value=guidance.depth_mm, unit=Unit.MILLIMETRE, rounding=Rounding.AT_MOST)
    low, high = _LITTLE_FINGER_MM
    like = "like_little_finger" if low <= guidance.depth_mm <= high else "plain"
    yield line(f"how_thick.{like}", depth=depth)
    yield line(f"limit.{guidance.binding_limit}")


def _mix_with(facts: NoteFacts) -> Iterable[Line]:
    browns = facts.guidance.browns
    if browns is None:
        yield line("mix_with.nothing")
        return
    mass = Quantity(value=browns.mass_kg, unit=Unit.KILOGRAM, rounding=Rounding.ABOUT)
    volume = Quantity(value=browns.volume_litres, unit=Unit.LITRE, rounding=Rounding.ABOUT)
    if browns.bags is None or browns.bag_litres is None or browns.bags > MOST_BAGS:
        yield line(f"mix_with.loose.{browns.material}", mass=mass, volume=volume)
    else:
        yield line(
            f"mix_with.bags.{browns.material}",
            mass=mass,
            volume=volume,
            bags=Quantity(value=browns.bags, unit=Unit.BAG),
            bag=Quantity(value=browns.bag_litres, unit=Unit.LITRE),
        )


def _food(facts: NoteFacts) -> Line:
    """Answer for the whole load: it takes the worst statement of its lots."""
    for treatment, key in (
        (Treatment.RECORDED_AND_WAITING, "food.waiting"),
        (Treatment.NOT_KNOWN, "food.not_known"),
    ):
        lots = lots_with(facts, treatment)
        if lots:
            return line(key, lots=Listed(names=lots), tone=Tone.STOP)
    cleared = lots_with(facts, Treatment.RECORDED_AND_CLEAR)
    if cleared:
        # Sensitive plants: the list of a gardening supplier
        # (easydigging.com, "Herbicide in compost", seen 2026-11), no better one found.
        key = "food.cleared_food_bed" if facts.bed.grows_food else "food.cleared_other_bed"
        return line(key, lots=Listed(names=cleared), tone=Tone.CARE)
    if facts.bed.grows_food:
        return line("food.none_recorded_food_bed")
    return line("food.none_recorded_other_bed")


def _animals(animals: frozenset[Animal]) -> Iterable[Line]:
    if Animal.HORSES in animals:
        yield line("animals.horses", tone=Tone.STOP)
    if Animal.GRAZING in animals:
        yield line("animals.grazing", tone=Tone.STOP)
    if Animal.DOGS in animals:
        yield line("animals.dogs", tone=Tone.CARE)
    if animals & {Animal.CATS, Animal.POULTRY}:
        yield line("animals.small", tone=Tone.CARE)
    if not animals:
        yield line("animals.none_known")
