"""One matter is one decision: what one call or one act answers is said once, of all it is about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any, Final
from uuid import UUID

from service.usecases.telling.decisions.decision import Decision, Gravity, Urgency
from service.usecases.telling.told.lots import LEAVE
from service.usecases.telling.unplaced.left_material import NO_ROOM, NOBODY_TAKES
from service.usecases.telling.warnings.subjects import Subjects

# What is the matter with one vehicle, what says most first, and beside what it says nothing more.
# Not that it is out: a break that is ahead says nothing of what is aboard until then.
STANDS: Final = frozenset({"load_stands", "vehicle_still_out"})
STAYS: Final = frozenset({"load_stands", "aboard_overnight", NOBODY_TAKES, NO_ROOM})
NOTHING: Final[frozenset[str]] = frozenset()
RECALLED: Final = "recalled_aboard"
OF_A_VEHICLE: Final = {
    "vehicle_may_be_overloaded": NOTHING,
    "vehicle_still_out": NOTHING,
    "load_stands": NOTHING,
    "vehicle_out": frozenset({"vehicle_still_out"}),
    RECALLED: NOTHING,
    NOBODY_TAKES: frozenset({RECALLED}),
    NO_ROOM: NOTHING,
    "aboard_overnight": STANDS,
    LEAVE: NOTHING,
    "unplaced": STANDS | {RECALLED},
    "gone_sour": STAYS,
    "going_sour": STAYS,
}
# The same of one ticket, by its load.
OF_A_TICKET: Final = {
    "vehicle_was_overloaded": NOTHING,
    "ticket_may_be_in_pounds": NOTHING,
    "ticket_given_before": NOTHING,
    "ticket_awaits_review": NOTHING,
}
BESIDE: Final = OF_A_VEHICLE | OF_A_TICKET
# Stands for what a decision says of itself alone, which no sentence has.
OWN: Final = "\0"
# The others are in its lots and its ways.
MOST_SAID: Final = 4
IDS: Final = ("destination_kind", "vehicle_id", "load_id", "job_id", "hold_entry_id")


def one_a_vehicle(found: Iterable[Decision]) -> Iterator[Decision]:
    """Yield decisions; one for each vehicle, of it and its grass, and one for each ticket."""
    of_one: dict[UUID, list[Decision]] = {}
    for one in found:
        about = one.load_id if one.code in OF_A_TICKET else one.vehicle_id
        if about is None or one.code not in BESIDE:
            yield one
        else:
            of_one.setdefault(about, []).append(one)
    order = tuple(BESIDE)
    for same in of_one.values():
        same.sort(key=lambda one: order.index(one.code))
        codes = {one.code for one in same}
        told = [one for one in same if not codes & BESIDE[one.code]]
        yield (
            same[0]
            if len(same) == 1
            else replace(
                same[0],
                **_of_all(same),
                sentence=" ".join(dict.fromkeys(one.sentence for one in told)),
                deadline=min((one.deadline for one in same if one.deadline), default=None),
                graver=min((one.gravity for one in same), key=tuple(Gravity).index),
                own=None,
            )
        )


def one_a_matter(found: Iterable[Decision], subjects: Subjects) -> Iterator[Decision]:
    """Yield decisions with whom they are about; those that say the same as one, with all ways."""
    alike: dict[tuple[Any, ...], list[Decision]] = {}
    for one in found:
        said = one.sentence.replace(one.own, OWN) if one.own else one.sentence
        alike.setdefault((one.code, said, one.caution), []).append(one)
    for (_, said, _), same in alike.items():
        same.sort(key=lambda one: (one.deadline is None, one.deadline, one.sentence))
        each = [replace(one, subject=_subject(subjects, [one])) for one in same]
        first = each[0] if len(each) == 1 else _of_several(said, each)
        yield replace(first, subject=_subject(subjects, same))


def _subject(subjects: Subjects, some: Sequence[Decision]) -> tuple[str, ...]:
    """Return whom decisions are about."""
    return subjects.of(
        job_ids=[one.job_id for one in some if one.job_id],
        destination_ids=[one.destination_id for one in some if one.destination_id],
        vehicle_ids=[one.vehicle_id for one in some if one.vehicle_id],
        hold_entry_ids=[one.hold_entry_id for one in some if one.hold_entry_id],
    )


def _of_several(said: str, same: Sequence[Decision]) -> Decision:
    owns = [one.own for one in same if one.own]
    glue, more = (" ", "And {} more.") if owns and owns[0].endswith(".") else (", ", "{} more")
    if len(owns) > MOST_SAID + 1:
        owns = [*owns[:MOST_SAID], more.format(len(owns) - MOST_SAID)]
    shared: dict[str, Any] = {}
    for name in (*IDS, "destination_id"):
        values = {getattr(one, name) for one in same}
        shared[name] = values.pop() if len(values) == 1 else None
    return replace(
        same[0],
        **shared,
        **_of_all(same),
        sentence=said.replace(OWN, glue.join(owns)),
        count=len(same),
        each=tuple(same),
    )


def _of_all(same: Sequence[Decision]) -> dict[str, Any]:
    """Return what one decision has of all that it stands for."""
    return {
        "urgency": min((one.urgency for one in same), key=tuple(Urgency).index),
        "lot_codes": tuple(dict.fromkeys(code for one in same for code in one.lot_codes)),
        "ways": tuple(dict.fromkeys(way for one in same for way in one.ways)),
    }
