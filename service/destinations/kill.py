"""Tell whether a site's process ends weed seeds and disease, by its place's requirements."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from service.core.places import CompostSite
from service.rules.lookup import Rulebook, RuleNotInForce

HOURS_PER_DAY = 24.0
TURNED = frozenset({"windrow", "housed_windrow"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """One way a standard lets a process count as a kill."""

    standard: str
    temperature_c_min: float
    hours_min: float
    turnings_min: int
    sources: tuple[str, ...]

    def met_by(self, site: CompostSite) -> bool:
        """Return whether what the site states of its process meets it."""
        return (
            (site.process_temperature_c or 0.0) >= self.temperature_c_min
            and (site.process_days or 0.0) * HOURS_PER_DAY >= self.hours_min
            and (site.process_turnings or 0) >= self.turnings_min
        )


def kill_shortfall(
    site: CompostSite, *, rulebook: Rulebook, day: date, jurisdiction: str
) -> Requirement | None:
    """Return the easiest requirement a site's stated process falls short of; None if it is met.

    A site that states no process is taken at its word, and so is one in a place for which
    the rulebook knows no requirement. A process with turnings is held against windrows, one
    without against vessels and aerated piles.
    """
    if site.process_temperature_c is None or site.process_days is None:
        return None
    known = list(_requirements(site, rulebook, day, jurisdiction))
    if not known or any(requirement.met_by(site) for requirement in known):
        return None
    return min(known, key=lambda found: (found.hours_min, found.temperature_c_min))


def _requirements(
    site: CompostSite, rulebook: Rulebook, day: date, jurisdiction: str
) -> Iterator[Requirement]:
    turned = bool(site.process_turnings)
    for process in rulebook.words_of("kill_hours_min", "process"):
        if process != "any" and (process in TURNED) != turned:
            continue
        for standard in rulebook.words_of("kill_hours_min", "standard"):
            for step in rulebook.words_of("kill_hours_min", "step"):
                case = {"standard": standard, "process": process, "step": step}
                try:
                    hours = rulebook.value_on(
                        "kill_hours_min", day, jurisdiction=jurisdiction, **case
                    )
                    warmth = rulebook.value_on(
                        "kill_temperature_c_min", day, jurisdiction=jurisdiction, **case
                    )
                    turnings = rulebook.value_on(
                        "kill_turnings_min", day, jurisdiction=jurisdiction, **case
                    )
                except RuleNotInForce:
                    continue
                yield Requirement(
                    standard=standard,
                    temperature_c_min=warmth.value,
                    hours_min=hours.value,
                    turnings_min=int(turnings.value),
                    sources=tuple(sorted({*hours.sources, *warmth.sources})),
                )
