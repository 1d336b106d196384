"""One matter is one decision: what one call or one act answers is said once, of all it is about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any, Final

from service.usecases.telling.decisions.decision import Decision, Urgency
from service.usecases.telling.warnings.subjects import Subjects

# Stands for what a decision says of itself alone, which no sentence has.
OWN: Final = "\0"
# The others are in its lots and its ways.
MOST_SAID: Final = 4
IDS: Final = ("destination_kind", "vehicle_id", "load_id", "job_id", "hold_entry_id")


def one_a_matter(found: Iterable[Decision], subjects: Subjects) -> Iterator[Decision]:
    """Yield decisions with whom they are about; those that say the same as one, with all ways."""
    alike: dict[tuple[Any, ...], list[Decision]] = {}
    for one in found:
        said = one.sentence.replace(one.own, OWN) if one.own else one.sentence
        alike.setdefault((one.code, said, one.caution), []).append(one)
    for (_, said, _), same in alike.items():
        same.sort(key=lambda one: (one.deadline is None, one.deadline, one.sentence))
        first = same[0] if len(same) == 1 else _of_several(said, same)
        yield replace(
            first,
            subject=subjects.of(
                job_ids=[one.job_id for one in same if one.job_id],
                destination_ids=[one.destination_id for one in same if one.destination_id],
                vehicle_ids=[one.vehicle_id for one in same if one.vehicle_id],
                hold_entry_ids=[one.hold_entry_id for one in same if one.hold_entry_id],
            ),
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
        sentence=said.replace(OWN, glue.join(owns)),
        urgency=min((one.urgency for one in same), key=tuple(Urgency).index),
        lot_codes=tuple(dict.fromkeys(code for one in same for code in one.lot_codes)),
        ways=tuple(dict.fromkeys(way for one in same for way in one.ways)),
        count=len(same),
        each=tuple(same),
    )
