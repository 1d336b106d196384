"""What a heap in a hold bay has become: why no bed takes it, whatever it was when it was cut."""

from __future__ import annotations

from service.core.plans import Ground, RuleClass
from service.destinations.keeping import HeldHeap
from service.destinations.verdicts import Reason


def heap_reason(heap: HeldHeap | None) -> Reason | None:
    """Return why a bed takes nothing of a heap, or None; a compost site may still take it."""
    if heap is None or heap.sour_since is None:
        return None
    return Reason(
        code="held_sour",
        sentence=(
            f"It counts as sour since {heap.sour_since:%Y-%m-%d %H:%M} UTC: no layer on a bed, it "
            "would smell and may harm plants. A compost site may take it."
        ),
        rule_class=RuleClass.ADVICE,
        ground=Ground.LOT,
        facts={"sour_since": heap.sour_since.isoformat()},
        sources=("common-practice",),
    )
