"""What waits for a word of tips that their beds had no room for, or that take nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from uuid import UUID

from service.core.places import DestinationKind
from service.core.plans import RuleClass
from service.destinations.set_aside import HARMS
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.refused_tips import RefusedTip
from service.usecases.telling.decisions.decision import Decision, Gravity, Urgency, Way, about_load
from service.usecases.telling.warnings.limits import limit_warnings
from service.usecases.telling.warnings.tips import CODE, refused_words


def over_limits(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the tips that a limit of their bed had no room for, until the record says otherwise."""
    for told in limit_warnings(facts, rulebook=rulebook):
        load_id, bed_id = UUID(told["load_id"]), UUID(told["destination_id"])
        whose = {RuleClass(one["rule_class"]) for one in (told, *told["also_over"])}
        ask = Way(
            what="Ask the client, and keep what they take", method="PATCH", href=f"/beds/{bed_id}"
        )
        yield Decision(
            code=told["code"],
            urgency=Urgency.NOW if RuleClass.LAW in whose else Urgency.TODAY,
            sentence=told["why"],
            lot_codes=tuple(told["lot_codes"]),
            vehicle_id=UUID(told["vehicle_id"]),
            load_id=load_id,
            destination_kind=DestinationKind.BED,
            destination_id=bed_id,
            ways=(
                Way(
                    what="Fetch the rest, and say what stayed (partly_refused, refused_share)",
                    method="PATCH",
                    href=f"/loads/{load_id}",
                ),
                Way(
                    what="Keep its weight, or correct it", method="PATCH", href=f"/loads/{load_id}"
                ),
                *((ask,) if RuleClass.CLIENT in whose else ()),
            ),
        )


def tipped_where_refused(refused: Iterable[RefusedTip]) -> Iterator[Decision]:
    """Yield the tips on beds that take nothing, until the record says otherwise."""
    for tip in refused:
        load_id, codes = tip.load.id, {one.code for one in tip.reasons}
        is_harmless = tip.rule_class is RuleClass.ADVICE and not HARMS & codes
        # What lies under it is settled by what is said of its lots, not of the bed.
        is_of_lots = codes == {"bed_tainted"}
        of_bed = Way(
            what="Ask the client, and keep what is so of the bed",
            method="PATCH",
            href=f"/beds/{tip.bed.id}",
        )
        yield Decision(
            code=CODE,
            urgency=Urgency.TODAY if is_harmless else Urgency.NOW,
            graver=Gravity.TAINTED if {*HARMS, "bed_tainted"} & codes else None,
            sentence=refused_words(tip),
            **about_load(tip.load),
            ways=(
                Way(
                    what="Fetch it back, and say so (refused, refusal_reason)",
                    method="PATCH",
                    href=f"/loads/{load_id}",
                ),
                *(() if is_of_lots else (of_bed,)),
            ),
        )
