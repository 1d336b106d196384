"""Tell what a site's process is shown to end: pathogens of people, plant disease, weed seed.

The three are kept apart. Rules on pathogens of people (55 C for 3 days in a vessel) say nothing of
weed seeds, and what is not shown is not taken for shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.core.acceptance.kills import Kill
from service.core.materials import LotStatus
from service.core.places import CompostSite
from service.core.plans import Ground, RuleClass
from service.destinations.reasons import Reason, class_of, refusal
from service.rules.here import RulesHere
from service.rules.lookup import RuleNotInForce, RuleValue

HOURS_PER_DAY = 24.0
TURNED = frozenset({"windrow", "housed_windrow"})
# What must be ended before compost of such a lot may go on a bed again.
NEEDED = {LotStatus.DISEASED: Kill.PLANT_DISEASE, LotStatus.WEEDY: Kill.WEED_SEED}
WORDS = {
    Kill.HUMAN_PATHOGENS: "pathogens of people",
    Kill.PLANT_DISEASE: "plant disease",
    Kill.WEED_SEED: "weed seed",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """One way a standard lets a process count as a kill."""

    standard: str
    temperature_c_min: float
    hours: RuleValue
    turnings_min: int
    sources: tuple[str, ...]

    @property
    def hours_min(self) -> float:
        """Return the least hours at that temperature."""
        return self.hours.value

    def met_by(self, site: CompostSite) -> bool:
        """Return whether what the site states of its process meets it."""
        return (
            (site.process_temperature_c or 0.0) >= self.temperature_c_min
            and (site.process_days or 0.0) * HOURS_PER_DAY >= self.hours_min
            and (site.process_turnings or 0) >= self.turnings_min
        )

    def lacks(self, site: CompostSite) -> tuple[float, float]:
        """Return how far a site is from it: degrees, then hours; 0 where it has enough."""
        return (
            max(0.0, self.temperature_c_min - (site.process_temperature_c or 0.0)),
            max(0.0, self.hours_min - (site.process_days or 0.0) * HOURS_PER_DAY),
        )


def kill_doubt(site: CompostSite, kill: Kill, *, here: RulesHere) -> Reason | None:
    """Return why a site is not known to end something; None if it is.

    It is known by evidence for that kill, or where the stated process meets a rule in force
    that was made, or measured, for that kill. A process with turnings is held against windrows,
    one without against vessels and aerated piles.
    """
    if any(e.kill is kill and e.holds_on(here.day) for e in site.kill_evidence):
        return None
    word = WORDS[kill]
    if site.process_temperature_c is None or site.process_days is None:
        return refusal(
            RuleClass.ADVICE,
            "kill_not_shown",
            f"Nothing on record shows that its process ends {word}; "
            "what is not known is not taken for done.",
            ground=Ground.PAIR,
            kill=kill.value,
        )
    known = list(_requirements(site, kill, here))
    if any(requirement.met_by(site) for requirement in known):
        return None
    stated = (
        f"Its process ({site.process_temperature_c:g} C for {site.process_days:g} days, "
        f"{site.process_turnings or 0} turnings)"
    )
    if not known:
        return refusal(
            RuleClass.ADVICE,
            "kill_not_shown",
            f"{stated} meets no rule on {word}: none is known for such a process.",
            ground=Ground.PAIR,
            kill=kill.value,
        )
    short = min(known, key=lambda found: found.lacks(site))
    return refusal(
        class_of(short.hours),
        "process_does_not_kill",
        f"{stated} is not shown to end {word}: {short.standard} asks for "
        f"{short.temperature_c_min:g} C for {_span(short.hours_min)} with "
        f"{short.turnings_min} turnings.",
        ground=Ground.PAIR,
        sources=short.sources,
        kill=kill.value,
        standard=short.standard,
        temperature_c_min=short.temperature_c_min,
        hours_min=short.hours_min,
        turnings_min=short.turnings_min,
    )


def _span(hours: float) -> str:
    return f"{hours / HOURS_PER_DAY:g} days" if hours > HOURS_PER_DAY else f"{hours:g} hours"


def _requirements(site: CompostSite, kill: Kill, here: RulesHere) -> Iterator[Requirement]:
    turned = bool(site.process_turnings)
    for standard in standards_for(kill, here=here):
        for process in here.book.words_of("kill_hours_min", "process"):
            if process != "any" and (process in TURNED) != turned:
                continue
            for step in here.book.words_of("kill_hours_min", "step"):
                case = {"standard": standard, "process": process, "step": step}
                try:
                    hours, warmth, turnings = (
                        here.row(name, **case)
                        for name in (
                            "kill_hours_min",
                            "kill_temperature_c_min",
                            "kill_turnings_min",
                        )
                    )
                except RuleNotInForce:
                    continue
                yield Requirement(
                    standard=standard,
                    temperature_c_min=warmth.value,
                    hours=hours,
                    turnings_min=int(turnings.value),
                    sources=tuple(sorted({*hours.sources, *warmth.sources})),
                )


def standards_for(kill: Kill, *, here: RulesHere) -> tuple[str, ...]:
    """Return the standards that, where they are met, show this kill."""
    found = []
    for standard in here.book.words_of("kill_shown_by", "standard"):
        try:
            here.row("kill_shown_by", standard=standard, kill=kill.value)
        except RuleNotInForce:
            continue
        found.append(standard)
    return tuple(found)
