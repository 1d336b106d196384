"""The lawn itself: clippings that are left where they fall need no truck."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from service.core.jobs import Job
from service.core.materials import LotStatus
from service.core.plans import RuleClass, Verdict
from service.destinations.verdicts import Lot, Wait
from service.rules.lookup import Rulebook


@dataclass(frozen=True, slots=True, kw_only=True)
class LawnAdvice:
    """Whether clippings should stay on the lawn, and whose rule says so.

    ``must`` is the label's or the law's word; ``better`` is advice.
    """

    must: bool
    better: bool
    code: str
    sentence: str
    rule_class: RuleClass
    facts: dict[str, object] = field(default_factory=dict)
    sources: tuple[str, ...] = ()


def lawn_advice(
    job: Job,
    lot: Lot,
    elsewhere: list[Verdict],
    *,
    held: list[Verdict],
    rulebook: Rulebook,
    day: date,
    jurisdiction: str,
) -> LawnAdvice:
    """Return whether a lawn's clippings should be left on it, before it is mown.

    Parameters
    ----------
    job
        A planned job.
    lot
        What its clippings would be.
    elsewhere
        The verdicts of all beds and compost sites (not the hold bays).
    held
        The verdicts of all hold bays.

    Returns
    -------
    LawnAdvice
        ``must`` when a treatment keeps clippings on the treated lawn; ``better`` when
        no bed or site takes them and the grass is short and healthy enough to stay, or no
        bay takes them either: bagged, they would spoil everything that is bagged after them.
    """
    stay = lot.waits.get("lawn")
    if stay is not None and not stay.over:
        return _must_stay(stay)
    height = rulebook.value_on(
        "leave_on_lawn_height_removed_mm_max", day, jurisdiction=jurisdiction
    )
    removed_mm = job.height_removed_mm or 0.0
    facts: dict[str, object] = {
        "height_removed_mm": round(removed_mm, 1),
        "height_removed_mm_max": height.value,
    }
    taken = [verdict for verdict in elsewhere if not verdict.refused]
    if taken:
        return LawnAdvice(
            must=False,
            better=False,
            code="may_collect",
            sentence=f"{len(taken)} beds or sites would take these clippings.",
            rule_class=RuleClass.ADVICE,
            facts=facts,
        )
    kept = any(not verdict.refused for verdict in held)
    unfit = lot.statuses & {LotStatus.DISEASED, LotStatus.LITTERED, LotStatus.WEEDY}
    words = ", ".join(sorted(status.value for status in unfit))
    if not kept and (unfit or removed_mm > height.value):
        return LawnAdvice(
            must=False,
            better=True,
            code="nobody_takes_them",
            sentence=(
                f"No bed, site or bay takes these clippings. Do not bag them: what is loaded "
                f"after them would have no place either. {_instead(words)}"
            ),
            rule_class=RuleClass.ADVICE,
            facts=facts,
        )
    if unfit:
        return LawnAdvice(
            must=False,
            better=False,
            code="collect_to_hold",
            sentence=f"No bed or site takes these clippings, and {words} ones do not stay either.",
            rule_class=RuleClass.ADVICE,
            facts=facts,
        )
    if removed_mm > height.value:
        return LawnAdvice(
            must=False,
            better=False,
            code="too_long_to_leave",
            sentence=(
                f"No bed or site takes these clippings; at {removed_mm:.0f} mm they are too long "
                f"to leave at once. Cut higher, twice, and leave them, or collect them to hold."
            ),
            rule_class=RuleClass.ADVICE,
            facts=facts,
            sources=height.sources,
        )
    return LawnAdvice(
        must=False,
        better=True,
        code="leave_on_lawn",
        sentence=(
            f"No bed or site takes these clippings; at {removed_mm:.0f} mm "
            "they feed the lawn where they fall."
        ),
        rule_class=RuleClass.ADVICE,
        facts=facts,
        sources=height.sources,
    )


def _instead(unfit: str) -> str:
    if unfit:
        return f"Mow it on another day, or leave them: {unfit} ones are better not spread about."
    return "They are too long to leave at once: cut higher, twice, and leave them."


def _must_stay(wait: Wait) -> LawnAdvice:
    return LawnAdvice(
        must=True,
        better=True,
        code=wait.code,
        sentence=wait.sentence,
        rule_class=wait.rule_class,
        facts=dict(wait.facts),
        sources=wait.sources,
    )
