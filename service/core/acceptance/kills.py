"""What a composting process is shown to end, and by what."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.core.errors import FieldFault


class Kill(StrEnum):
    """What a composting process may be shown to end. One says nothing of another."""

    HUMAN_PATHOGENS = "human_pathogens"
    PLANT_DISEASE = "plant_disease"
    WEED_SEED = "weed_seed"


@dataclass(frozen=True, slots=True, kw_only=True)
class KillEvidence:
    """That a site's process was shown to end one thing: by what, and from when to when.

    ``reference`` names the test, the certificate or the approval, so that it can be asked for.
    """

    kill: Kill
    reference: str
    shown_on: date
    valid_until: date | None = None

    def holds_on(self, day: date) -> bool:
        """Return whether it stands on a day."""
        return self.shown_on <= day and (self.valid_until is None or day <= self.valid_until)


def evidence_faults(kept: Sequence[KillEvidence]) -> Iterator[FieldFault]:
    """Yield the evidence that had ended before it was shown."""
    for index, evidence in enumerate(kept):
        if evidence.valid_until is not None and evidence.valid_until < evidence.shown_on:
            yield FieldFault(
                pointer=f"/kill_evidence/{index}/valid_until",
                detail="It ends before the day it was shown on.",
            )
