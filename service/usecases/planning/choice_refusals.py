"""What stands against a place that is chosen by hand, and who alone may say otherwise."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from uuid import UUID

from service.core.errors import Refusal
from service.core.loads import Load
from service.core.plans import RuleClass, Verdict
from service.destinations.ready import ReadyDestination
from service.destinations.set_aside import insisted_on, is_only_advice, strictest
from service.usecases.day.destinations import Asked
from service.usecases.day.overrides import WHOSE, who_may_say_otherwise
from service.usecases.telling.told.choices import LockMoved


class PlaceRefused(Refusal):
    """A rule that nobody here may set aside keeps a lot from a place."""

    code = "place_refused"
    sentence = "{lot} may not go to {place}: {why} {whose}"


class AdviceAgainst(Refusal):
    """Advice speaks against a place; one person may set it aside, in words."""

    code = "advice_against"
    sentence = (
        "Advice speaks against {place} for {lot}: {why} To go there all the same, send the same "
        "with a Change-Reason: it is kept, with whose key said so."
    )


class TipNotPossible(Refusal):
    """No legal day of a vehicle has a tip."""

    code = "tip_not_possible"
    sentence = (
        "No day of {vehicle} that keeps hours, payload and room has all of {lots} at {place}: "
        "it may weigh up to {mass_kg} kg, and there is room for {room_kg} kg. Nothing was changed."
    )


class TooLittleCounted(Refusal):
    """A load is enough for a client, but beside what else is carried no plan is sure of it."""

    code = "too_little_counted"
    sentence = (
        "{place} takes no visit for less than {least_kg:g} kg. This is enough by itself, but "
        "{vehicle} carries lots whose mass is less sure, and a plan asks more of every tip of it "
        "there; nothing was changed. Say what is not known of those lots, or choose another place."
    )


class NotToBeChosen(Refusal):
    """What is done, under way, left on its lawn or not on a vehicle has no place to choose."""

    code = "not_to_be_chosen"
    sentence = "{what} is not planned to be tipped: a place is chosen for what is still ahead."


class WouldSpoil(Refusal):
    """Better clippings that were for a bed would be mixed with worse ones."""

    code = "would_spoil"
    sentence = (
        "With this, {lots} would be mixed with worse clippings on the way to {place}, and could go "
        "to no bed any more; nothing was changed. First lock their own load to its bed, or choose "
        "another place."
    )


class LockedWithOthers(Refusal):
    """A lock on other grass would be moved, which nobody named."""

    code = "locked_with_others"
    sentence = (
        "With this, what is locked elsewhere would be moved, too: {locks}. Nothing was changed. "
        "To move it all the same, send the same with move_locks."
    )


def refuse_strictly(load: Load, ready: ReadyDestination, asked: Asked) -> None:
    """Refuse what no person may set aside: of all that stands against it, the strictest.

    Raises
    ------
    PlaceRefused
    """
    found = [
        (part.lot_code, said) for part in load.parts for said in _strict(part.lot_id, ready, asked)
    ]
    binding = strictest(said for _, said in found)
    if binding is not None:
        lot = next(code for code, said in found if said is binding)
        raise PlaceRefused(
            lot=lot, place=ready.name, why=binding.sentence, whose=who_may_say_otherwise(binding)
        )
    too_little = ready.too_little(load.mass_kg)
    if too_little is not None:
        raise PlaceRefused(
            lot=", ".join(part.lot_code for part in load.parts),
            place=ready.name,
            why=too_little,
            whose=WHOSE[RuleClass.CLIENT],
        )


def refuse_unnamed(locks: Iterable[LockMoved]) -> None:
    """Refuse to move what somebody locked and the choice does not name.

    Raises
    ------
    LockedWithOthers
    """
    unnamed = [f"{', '.join(one.lot_codes)} to {one.name}" for one in locks if one.to_be_confirmed]
    if unnamed:
        raise LockedWithOthers(locks="; ".join(unnamed))


def advice_against(
    load: Load, ready: ReadyDestination, asked: Asked
) -> tuple[tuple[str, Verdict], ...]:
    """Return the advice that speaks against a place, with its lot."""
    position = asked.position[ready.id]
    return tuple(
        (part.lot_code, asked.verdicts[part.lot_id][position])
        for part in load.parts
        if part.lot_id in asked.verdicts and asked.verdicts[part.lot_id][position].refused
    )


def _strict(lot_id: UUID, ready: ReadyDestination, asked: Asked) -> Iterator[Verdict]:
    """Yield what stands against a lot at a place, whatever reason somebody has."""
    if lot_id not in asked.verdicts:
        return
    said = asked.verdicts[lot_id][asked.position[ready.id]]
    if not said.refused:
        return
    if not is_only_advice(said):
        yield said
    behind = insisted_on(asked.lots[lot_id], ready.destination)
    if behind is not None and behind.refused:
        yield behind
