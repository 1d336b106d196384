"""What an open recall freezes: its beds take nothing more, its lots go nowhere but into a bay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from service.core.evidence.recalls import Recall
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.verdicts import Lot
from service.usecases.base.destination_kinds import is_hold
from service.usecases.day.destinations import Asked

CODE = "recalled"


def with_freezes(asked: Asked, recalls: Sequence[Recall]) -> Asked:
    """Return the answers in which what is recalled is refused, until the recall is ended."""
    if not recalls:
        return asked
    return replace(
        asked,
        verdicts={
            lot_id: tuple(frozen_by(said, asked.lots[lot_id], recalls) or said for said in row)
            for lot_id, row in asked.verdicts.items()
        },
    )


def frozen_by(said: Verdict, lot: Lot, recalls: Sequence[Recall]) -> Verdict | None:
    """Return the refusal of a place or a lot that is recalled; None where it is not."""
    if is_hold(said.destination_kind):
        return None
    found = (
        recall
        for recall in recalls
        if said.destination_id in recall.bed_ids or lot.job_id in recall.job_ids
    )
    recall = next(found, None)
    return None if recall is None else _frozen(said, recall)


def _frozen(said: Verdict, recall: Recall) -> Verdict:
    return replace(
        said,
        accepted_kg=0.0,
        code=CODE,
        sentence=f"It is recalled and stays as it is until that is ended: {recall.reason}",
        # Nobody sets it aside for one load: the recall is ended, for all of it.
        rule_class=RuleClass.SITE,
        facts={"recall_id": str(recall.id)},
        ground=Ground.LOT,
    )
