"""The lawn itself: clippings that are left where they fall need no truck."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from service.core.jobs import Job
from service.core.materials import LotStatus
from service.core.plans import RuleClass, Verdict
from service.destinations.treatments.kept_on_lawn import BINDING
from service.destinations.verdicts import Lot, Wait
from service.rules.here import RulesHere


@dataclass(frozen=True, slots=True, kw_only=True)
class LawnAdvice:
    """Whether clippings should stay on the lawn, and whose rule says so.

    ``must`` is the word of the label, the law or an open recall; ``better`` is advice.
    """

    must: bool
    better: bool
    code: str
    sentence: str
    rule_class: RuleClass
    facts: dict[str, object] = field(default_factory=dict)
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenThere:
    """What a crew sees, or is told, where it stands before a lawn; None: nobody said.

    Attributes
    ----------
    collect_wanted
        Whether the clippings are wanted off the lawn: by the client, or by a job planned so.
    ground_wet
        Wet clippings clump on wet ground, and lie on the grass.
    drought
        Short clippings shade dry ground.
    """

    collect_wanted: bool | None = None
    ground_wet: bool | None = None
    drought: bool | None = None


TAKEN: Final = "may_collect"
UNFIT_TO_STAY: Final = frozenset({LotStatus.DISEASED, LotStatus.LITTERED, LotStatus.WEEDY})
# What a plan asks about is planned to be collected.
PLANNED_TO_COLLECT = SeenThere(collect_wanted=True)


def lawn_advice(
    job: Job,
    lot: Lot,
    elsewhere: list[Verdict],
    *,
    held: list[Verdict],
    here: RulesHere,
    seen: SeenThere = PLANNED_TO_COLLECT,
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
    seen
        What is seen on the spot, and whether collecting is wanted.

    Returns
    -------
    LawnAdvice
        ``must`` when a label or a law keeps clippings on the treated lawn; ``better`` when
        they may go nowhere else for a treatment, when nothing speaks for collecting, when no
        bed or site takes them and the grass is short and healthy enough to stay, or no
        bay takes them either: bagged, they would spoil everything that is bagged after them.
    """
    height = here.row("leave_on_lawn_height_removed_mm_max")
    removed_mm = job.height_removed_mm or 0.0
    unfit = sorted(status.value for status in lot.statuses & UNFIT_TO_STAY)
    told = _Told(
        removed_mm=removed_mm,
        long=removed_mm > height.value,
        unfit=", ".join(unfit),
        facts={
            "height_removed_mm": round(removed_mm, 1),
            "height_removed_mm_max": height.value,
            "unfit": unfit,
        },
        sources=height.sources,
    )
    stay = lot.waits.get("lawn")
    if stay is not None and not stay.over:
        return _kept(stay, told)
    return (
        _left_where_it_falls(told, seen)
        or _taken(told, elsewhere)
        or _nobody_takes(told, kept=any(not verdict.refused for verdict in held))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """What there is to say of the grass: its length, what is wrong with it, in words and facts."""

    removed_mm: float
    long: bool
    unfit: str
    facts: dict[str, object]
    sources: tuple[str, ...]

    def advice(
        self,
        code: str,
        sentence: str,
        *,
        better: bool = False,
        sourced: bool = False,
        takers: int | None = None,
    ) -> LawnAdvice:
        """Return advice in these words."""
        return LawnAdvice(
            must=False,
            better=better,
            code=code,
            sentence=sentence,
            rule_class=RuleClass.ADVICE,
            facts=self.facts if takers is None else {**self.facts, "takers": takers},
            sources=self.sources if sourced else (),
        )


def _left_where_it_falls(told: _Told, seen: SeenThere) -> LawnAdvice | None:
    """Return that clippings stay, where nothing speaks for collecting them or drought against."""
    if told.unfit or seen.ground_wet:
        return None
    if seen.drought:
        how = " Mow it higher: they are too long to leave at once." if told.long else ""
        return told.advice(
            "leave_in_drought",
            f"In a drought clippings stay and shade the ground, if it is mown at all.{how}",
            better=True,
            sourced=True,
        )
    if told.long or seen.collect_wanted:
        return None
    return told.advice(
        "short_clippings_stay",
        f"Nothing speaks for collecting: at {told.removed_mm:.0f} mm they feed the lawn where "
        "they fall.",
        better=True,
        sourced=True,
    )


def _taken(told: _Told, elsewhere: list[Verdict]) -> LawnAdvice | None:
    taken = [verdict for verdict in elsewhere if not verdict.refused]
    if not taken:
        return None
    who = "1 bed or site" if len(taken) == 1 else f"{len(taken)} beds or sites"
    return told.advice(TAKEN, f"{who} would take these clippings.", takers=len(taken))


def _nobody_takes(told: _Told, *, kept: bool) -> LawnAdvice:
    if not kept and (told.unfit or told.long):
        return told.advice(
            "nobody_takes_them",
            "No bed, site or bay takes these clippings. Do not bag them: what is loaded "
            f"after them would have no place either. {_instead(told.unfit)}",
            better=True,
        )
    if told.unfit:
        return told.advice(
            "collect_to_hold",
            f"No bed or site takes these clippings, and {told.unfit} ones do not stay either.",
        )
    if told.long:
        return told.advice(
            "too_long_to_leave",
            f"No bed or site takes these clippings; at {told.removed_mm:.0f} mm they are too long "
            "to leave at once. Cut higher, twice, and leave them, or collect them to hold.",
            sourced=True,
        )
    return told.advice(
        "leave_on_lawn",
        f"No bed or site takes these clippings; at {told.removed_mm:.0f} mm "
        "they feed the lawn where they fall.",
        better=True,
        sourced=True,
    )


def _instead(unfit: str) -> str:
    if unfit:
        return f"Mow it on another day, or leave them: {unfit} ones are better not spread about."
    return "They are too long to leave at once: cut higher, twice, and leave them."


def _kept(wait: Wait, told: _Told) -> LawnAdvice:
    how = " They are too long to leave at once: cut higher, twice." if told.long else ""
    return LawnAdvice(
        must=wait.rule_class in BINDING,
        better=True,
        code=wait.code,
        sentence=f"{wait.sentence}{how}",
        rule_class=wait.rule_class,
        facts={**told.facts, **wait.facts},
        sources=wait.sources,
    )
