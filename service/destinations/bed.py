"""Client beds: a thin layer, now and then, where it is lawful, wanted and safe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import partial
from uuid import UUID

from service.agronomy.layers.bed_room import BedRoom, bed_room, nitrogen_kg_per_ha
from service.core.materials import Wetness
from service.core.places import Bed, DestinationKind, GroundState, Point
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.beds.cautions import asked_about_animals, bed_cautions, ground_on
from service.destinations.beds.hours import hours_on
from service.destinations.beds.law import law_facts
from service.destinations.beds.limits import mass_limit, month_limit, nitrogen_limit, visit_limit
from service.destinations.beds.lot import lot_reasons
from service.destinations.beds.monthly import brought_in_month_kg, month_kg, monthly_limit
from service.destinations.beds.refusals import BedStanding
from service.destinations.laid.fairness import FAIRNESS_DAYS, BedFairness, FairnessWish
from service.destinations.laid.ledger import BedLedger, TakenToday
from service.destinations.laid.tipped import broken
from service.destinations.layer_depth import LayerDepth, layer_depths
from service.destinations.ready import DepotDay, ReadyDestination
from service.destinations.reasons import Reason, refusal
from service.destinations.set_aside import is_only_advice, strict_verdict
from service.destinations.verdicts import Clippings, Limit, accepted, refused, whole_kg
from service.rules.here import RulesHere


class BedDestination:
    """One bed on one day, with its ledger and the rules in force."""

    kind = DestinationKind.BED

    def __init__(
        self,
        bed: Bed,
        *,
        point: Point,
        ledger: BedLedger,
        depths: Mapping[Wetness, LayerDepth],
        here: RulesHere,
        taken: TakenToday | None = None,
        fairness: FairnessWish | None = None,
        ground: GroundState | None = None,
        month_kg: float = 0.0,
        shut: Reason | None = None,
    ) -> None:
        """Work out once what holds for every lot of the day."""
        self._bed = bed
        self._point = point
        self._area_m2 = bed.area.si_value
        self._taken = taken or TakenToday()
        before = ledger.sums(day=here.day, area_m2=self._area_m2)
        self._laid = replace(
            before,
            mass_kg_per_m2=before.mass_kg_per_m2 + self._taken.mass_kg / self._area_m2,
            nitrogen_kg_per_ha=before.nitrogen_kg_per_ha
            + nitrogen_kg_per_ha(nitrogen_kg=self._taken.nitrogen_kg, area_m2=self._area_m2),
        )
        self._depths = depths
        self._brought_kg = brought_in_month_kg(ledger, self._taken, here.day)
        facts = law_facts(bed, here.jurisdiction)
        self._mass = here.ruled("plant_matter_kg_per_m2_year_max", facts)
        self._nitrogen = here.ruled("nitrogen_kg_per_ha_year_max", facts)
        self._monthly = monthly_limit(bed, laid_kg=month_kg, here=here)
        grown_here = here.ruled("only_what_grew_there", facts)
        self._fairness = self._fairness_of(ledger, here.day, fairness or FairnessWish())
        self._lot_reasons = partial(lot_reasons, bed, grown_here=grown_here)
        standing = BedStanding(
            bed=bed, ledger=ledger, day=here.day, ground_now=ground or bed.ground_state, shut=shut
        )
        self._standing_reasons = partial(standing.reasons, here)
        self._standing_reason = next(self._standing_reasons(), None)
        self._said: dict[Clippings, Verdict] = {}

    @property
    def id(self) -> UUID:
        """Return the bed's id."""
        return self._bed.id

    @property
    def point(self) -> Point:
        """Return where the bed, or else its property, is."""
        return self._point

    @property
    def property_id(self) -> UUID:
        """Return the property it lies on."""
        return self._bed.property_id

    @property
    def fairness(self) -> BedFairness | None:
        """Return what the bed had lately and what the firm makes of it; None: nothing."""
        return self._fairness

    def verdict(self, lot: Clippings) -> Verdict:
        """Return what this bed says to the lot; it says the same to every lot of a kind."""
        if lot not in self._said:
            self._said[lot] = self._verdict(lot)
        return self._said[lot]

    def _verdict(self, lot: Clippings) -> Verdict:
        # What is wrong with the lot is told before what is wrong with the bed on the day.
        reason = next(self._lot_reasons(lot), self._standing_reason)
        if reason is not None:
            return refused(self.kind, self.id, reason)
        verdict = self._worth_a_visit(self._limits(lot))
        return verdict if verdict.refused else asked_about_animals(verdict, self._bed)

    def _worth_a_visit(self, limits: list[Limit]) -> Verdict:
        """Return what the limits leave room for, unless the client takes no visit for so little."""
        verdict = accepted(self.kind, self.id, limits)
        least_kg = self._bed.consent.mass_per_visit_min_kg
        if verdict.refused or least_kg is None or verdict.accepted_kg >= least_kg:
            return verdict
        facts = {"mass_per_visit_min_kg": least_kg, "room_kg": whole_kg(verdict.accepted_kg)}
        reason = refusal(
            RuleClass.CLIENT,
            "consent_mass_least",
            f"The client takes no visit for less than {least_kg:g} kg, and there is room for "
            f"{whole_kg(verdict.accepted_kg)} kg. {verdict.sentence}",
            ground=Ground.PAIR,
            sources=verdict.sources,
            **facts,
        )
        return refused(self.kind, self.id, reason)

    def standing(self) -> Iterator[Reason]:
        """Yield what stands against every lot of the day, what is told first first."""
        return self._standing_reasons()

    def insisted(self, lot: Clippings) -> Verdict | None:
        """Return what stands against a lot where a person sets advice aside; None: nothing."""
        reasons = (*self._lot_reasons(lot), *self._standing_reasons())
        strict = strict_verdict(self.kind, self.id, reasons)
        if strict is not None:
            return strict
        limits = [one for one in self._limits(lot) if not is_only_advice(one)]
        return self._worth_a_visit(limits) if limits else None

    def _fairness_of(self, ledger: BedLedger, day: date, wish: FairnessWish) -> BedFairness | None:
        if wish.is_nothing:
            return None
        before = ledger.sums(day=day, area_m2=self._area_m2, window_days=FAIRNESS_DAYS - 1)
        return BedFairness(
            wish=wish,
            laid_kg_per_m2=before.mass_kg_per_m2 + self._taken.mass_kg / self._area_m2,
            area_m2=self._area_m2,
        )

    def yearly_room_kg(self, lot: Clippings) -> float:
        """Return what the 12-month account leaves for this lot, whatever the layer [kg]."""
        by_limit = dict(self._room(lot).mass_kg_by_limit)
        return min(mass_kg for name, mass_kg in by_limit.items() if name != "layer_depth")

    def _room(self, lot: Clippings) -> BedRoom:
        # Volume and mass at the high end together: what a limit must hold for.
        return self._room_for(
            density_kg_per_m3=lot.density_high_kg_per_m3,
            nitrogen_kg_per_kg=lot.nitrogen_high_kg_per_kg,
            depth_mm=self._depth_left_mm(lot),
        )

    def _room_for(
        self, *, density_kg_per_m3: float, nitrogen_kg_per_kg: float, depth_mm: float
    ) -> BedRoom:
        return bed_room(
            area_m2=self._area_m2,
            density_kg_per_m3=density_kg_per_m3,
            nitrogen_kg_per_kg=nitrogen_kg_per_kg,
            layer_depth_mm_max=depth_mm,
            yearly_mass_kg_per_m2_max=self._mass.row.value,
            yearly_nitrogen_kg_per_ha_max=self._nitrogen.row.value,
            laid=self._laid,
        )

    def _depth_left_mm(self, lot: Clippings) -> float:
        """Return the depth left of the day's one layer: what lies there today is part of it."""
        lies_mm = 1000.0 * self._taken.volume_m3 / self._area_m2
        return max(0.0, self._depths[lot.wetness].safe.depth_mm - lies_mm)

    def _limits(self, lot: Clippings) -> list[Limit]:
        room = self._room(lot)
        fair = self._fairness.limit if self._fairness is not None else None
        return [
            self._depth_limit(lot, dict(room.mass_kg_by_limit)["layer_depth"]),
            *self._lasting_limits(room),
            *(() if fair is None else (fair,)),
        ]

    def _lasting_limits(self, room: BedRoom) -> Iterator[Limit]:
        """Yield what limits all that comes in a visit, a month or a year, however it is laid."""
        by_limit = dict(room.mass_kg_by_limit)
        laid, area_m2 = self._laid, self._area_m2
        yield mass_limit(by_limit["yearly_mass"], self._mass, laid, area_m2=area_m2)
        yield nitrogen_limit(by_limit["yearly_nitrogen"], self._nitrogen, laid)
        visit_max_kg = self._bed.consent.mass_per_visit_max_kg
        if visit_max_kg is not None:
            yield visit_limit(visit_max_kg, taken_kg=self._taken.mass_kg)
        month_max_kg = self._bed.consent.mass_per_month_max_kg
        if month_max_kg is not None:
            yield month_limit(month_max_kg, brought_kg=self._brought_kg)
        if self._monthly is not None:
            yield self._monthly

    def broken_by(
        self, *, mass_kg: float, volume_m3: float, nitrogen_kg: float
    ) -> tuple[Limit, ...]:
        """Return the limits that a load breaks where it was tipped all the same.

        Not the depth of one layer: more is laid in layers. Nor what is only fair.
        """
        room = self._room_for(
            density_kg_per_m3=mass_kg / volume_m3,
            nitrogen_kg_per_kg=nitrogen_kg / mass_kg,
            depth_mm=0.0,
        )
        return broken(self._lasting_limits(room), mass_kg)

    def _depth_limit(self, lot: Clippings, mass_kg: float) -> Limit:
        depth = self._depths[lot.wetness]
        depth_mm = self._depth_left_mm(lot)
        return Limit(
            mass_kg=mass_kg,
            code="layer_depth",
            sentence=(
                f"{depth_mm:.1f} mm of fresh clippings on {self._area_m2:g} m² "
                f"is {depth_mm * self._area_m2:.0f} litres, {whole_kg(mass_kg)} kg of this lot."
            ),
            rule_class=RuleClass.ADVICE,
            facts={
                "depth_max_mm": round(depth_mm, 1),
                "binds": depth.safe.binds.value,
                "area_m2": self._area_m2,
            },
            sources=depth.sources,
        )


def bed_on(
    bed: Bed,
    beds: Sequence[Bed],
    at: DepotDay,
    *,
    depths: Mapping[Wetness, LayerDepth],
    fairness: FairnessWish | None = None,
    shut: Reason | None = None,
) -> BedDestination:
    """Return one bed on a depot's day; with ``beds`` it shares what is registered for a place."""
    return BedDestination(
        bed,
        point=at.points[bed.id],
        ledger=at.ledgers[bed.id],
        depths=depths,
        here=at.here,
        taken=TakenToday.by(at.loads_to(bed.id), at.jobs),
        fairness=fairness,
        ground=ground_on(bed, at),
        month_kg=month_kg(bed, beds, at),
        shut=shut,
    )


def ready_beds(beds: Sequence[Bed], at: DepotDay) -> list[ReadyDestination]:
    """Return beds made ready for a depot's day, at the hours that their clients want."""
    depot = at.depot
    tip_s = at.tipping_s("bed")
    depths = layer_depths(here=at.here)
    wish = FairnessWish(
        limit_kg_per_m2=depot.fairness_limit_kg_per_m2,
        price_cents_per_t_per_kg_per_m2=depot.fairness_price_cents_per_t_per_kg_per_m2,
    )
    found = []
    for bed in at.asked(beds):
        ground, hours = ground_on(bed, at), hours_on(bed, at.day, depot)
        destination = bed_on(
            bed, beds, at, depths=depths, fairness=wish, shut=hours.shut_from(at.moment())
        )
        found.append(
            ReadyDestination(
                destination=destination,
                name=bed.name,
                tip_s=tip_s,
                **at.gate(hours.planned(at.shift_left())),
                fairness=destination.fairness,
                least_kg=bed.consent.mass_per_visit_min_kg or 0.0,
                cautions=(*hours.told(), *bed_cautions(bed, ground=ground)),
                shut_at=hours.shut_at,
            )
        )
    return found
