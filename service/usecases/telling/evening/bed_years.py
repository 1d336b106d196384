"""How much of its year every bed has had: mass and nitrogen of twelve months beside the limits."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from service.agronomy.layers.bed_room import nitrogen_kg_per_ha
from service.core.callers.access import Caller
from service.destinations.beds.law import law_facts
from service.destinations.laid.ledger import TakenToday
from service.rules.binding import Law
from service.rules.lookup import Rulebook
from service.usecases.base.use_cases import Looking
from service.usecases.day.reading.read_day import read_today


@dataclass(frozen=True, slots=True, kw_only=True)
class BedYear:
    """A bed, what was laid on it in twelve months at the high end, and how much a year allows."""

    bed_id: UUID
    name: str
    place: str
    laid_kg_per_m2: float
    limit_kg_per_m2: float
    nitrogen_kg_per_ha: float
    limit_nitrogen_kg_per_ha: float
    share: float  # of the nearer limit; 1 is all of it
    is_law: bool  # the nearer limit


@dataclass(frozen=True, kw_only=True, eq=False)
class TellBedYears(Looking):
    """Tell the year of each bed by the records of now."""

    rulebook: Rulebook

    def __call__(self, caller: Caller, depot_id: UUID) -> list[BedYear]:
        """Return the firm's beds, the fullest first; whose law binds is the depot's.

        Raises
        ------
        RecordMissing
        """
        now = self.clock.now()
        with self.open_reading() as unit:
            facts = read_today(unit, caller.firm_id, depot_id, now=now)
        day, found = facts.span.day, []
        for bed in facts.beds:
            area_m2 = bed.area.si_value
            sums = facts.ledgers[bed.id].sums(day=day, area_m2=area_m2)
            # The account ends with the day before; what came today, or is on its way, is beside it.
            today = TakenToday.by(
                [one for one in facts.spoken_for if one.destination_id == bed.id], facts.known_jobs
            )
            where = law_facts(bed, facts.depot.jurisdiction)
            mass = self.rulebook.ruled_on("plant_matter_kg_per_m2_year_max", day, where)
            nitrogen = self.rulebook.ruled_on("nitrogen_kg_per_ha_year_max", day, where)
            laid_kg_per_m2 = sums.mass_kg_per_m2 + today.mass_kg / area_m2
            laid_nitrogen = sums.nitrogen_kg_per_ha + nitrogen_kg_per_ha(
                nitrogen_kg=today.nitrogen_kg, area_m2=area_m2
            )
            nearer = max(
                (laid_kg_per_m2 / mass.row.value, mass.law is Law.BINDS),
                (laid_nitrogen / nitrogen.row.value, nitrogen.law is Law.BINDS),
            )
            found.append(
                BedYear(
                    bed_id=bed.id,
                    name=bed.name,
                    place=facts.properties[bed.property_id].name,
                    laid_kg_per_m2=laid_kg_per_m2,
                    limit_kg_per_m2=mass.row.value,
                    nitrogen_kg_per_ha=laid_nitrogen,
                    limit_nitrogen_kg_per_ha=nitrogen.row.value,
                    share=nearer[0],
                    is_law=nearer[1],
                )
            )
        return sorted(found, key=lambda one: (-one.share, one.name))
