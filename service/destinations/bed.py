"""Client beds: a thin layer, now and then, where it is lawful, wanted and safe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import atan, degrees
from uuid import UUID

from service.agronomy.bed_room import (
    BedRoom,
    LedgerEntry,
    LedgerSums,
    bed_room,
    ledger_sums,
    nitrogen_kg_per_ha,
)
from service.core.loads import DestinationKind
from service.core.materials import LotStatus, Wetness
from service.core.places import Bed, ConsentState, Drainage, GroundState, LegalBasisKind, Point
from service.core.plans import RuleClass, Verdict
from service.destinations.layer_depth import LayerDepth
from service.destinations.verdicts import (
    Limit,
    Lot,
    Reason,
    accepted,
    class_of,
    refused,
    treatment_reason,
)
from service.rules.lookup import Rulebook, RuleValue

WET_GROUND = frozenset({GroundState.WATERLOGGED, GroundState.FROZEN, GroundState.SNOW})


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidLayer:
    """Clippings that were laid on a bed before: high end of mass and nitrogen, or weighed."""

    day: date
    mass_kg: float
    nitrogen_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BedLedger:
    """What lies on the bed's account."""

    layers: tuple[LaidLayer, ...] = ()

    def last_day(self) -> date | None:
        """Return the day of the last layer, or None."""
        return max((layer.day for layer in self.layers), default=None)

    def sums(self, *, day: date, area_m2: float) -> LedgerSums:
        """Return what was laid per area in the 12 months up to the day."""
        return ledger_sums(
            LedgerEntry(
                age_days=(day - layer.day).days,
                mass_kg_per_m2=layer.mass_kg / area_m2,
                nitrogen_kg_per_ha=nitrogen_kg_per_ha(
                    nitrogen_kg=layer.nitrogen_kg, area_m2=area_m2
                ),
            )
            for layer in self.layers
            if layer.day <= day
        )


def a_year_before(day: date) -> date:
    """Return the first day of the 12 months that end with the day."""
    try:
        year_before = day.replace(year=day.year - 1)
    except ValueError:  # 29 February
        year_before = day.replace(year=day.year - 1, day=28)
    return date.fromordinal(year_before.toordinal() + 1)


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
        rulebook: Rulebook,
        day: date,
        jurisdiction: str,
    ) -> None:
        """Work out once what holds for every lot of the day."""
        self._bed = bed
        self._point = point
        self._ledger = ledger
        self._day = day
        self._area_m2 = bed.area.si_value
        self._laid = ledger.sums(day=day, area_m2=self._area_m2)
        self._depths = depths
        self._mass = rulebook.value_on(
            "plant_matter_kg_per_m2_year_max", day, jurisdiction=jurisdiction
        )
        self._nitrogen = rulebook.value_on(
            "nitrogen_kg_per_ha_year_max", day, jurisdiction=jurisdiction
        )
        self._standing_reason = self._first_reason(rulebook, jurisdiction)

    @property
    def id(self) -> UUID:
        """Return the bed's id."""
        return self._bed.id

    @property
    def point(self) -> Point:
        """Return where the bed, or else its property, is."""
        return self._point

    @property
    def standing_reason(self) -> Reason | None:
        """Return why the bed takes nothing at all today, or None."""
        return self._standing_reason

    def verdict(self, lot: Lot) -> Verdict:
        """Return what this bed says to the lot."""
        reason = self._standing_reason or self._lot_reason(lot)
        if reason is not None:
            return refused(self.kind, self.id, reason)
        return accepted(self.kind, self.id, self._limits(lot))

    # -- what holds for every lot ---------------------------------------------------------

    def _first_reason(self, rulebook: Rulebook, jurisdiction: str) -> Reason | None:
        return (
            self._consent_reason()
            or self._legal_reason()
            or self._ground_reason()
            or self._water_reason(
                rulebook.value_on(
                    "water_course_distance_m_min", self._day, jurisdiction=jurisdiction
                ),
                distance_m=self._bed.water_distance_m,
                water="a watercourse",
            )
            or self._water_reason(
                rulebook.value_on("well_distance_m_min", self._day, jurisdiction=jurisdiction),
                distance_m=self._bed.well_distance_m,
                water="a well, spring or borehole",
            )
            or self._slope_reason(
                rulebook.value_on("slope_degrees_max", self._day, jurisdiction=jurisdiction)
            )
            or self._organic_reason()
            or self._rest_reason(
                rulebook.value_on("layer_rest_days_min", self._day, jurisdiction=jurisdiction)
            )
        )

    def _consent_reason(self) -> Reason | None:
        consent = self._bed.consent
        if consent.state is not ConsentState.GIVEN:
            words = consent.state.value.replace("_", " ")
            return Reason(
                code="no_consent",
                sentence=f"The client's consent for this bed is: {words}.",
                rule_class=RuleClass.CLIENT,
                facts={"consent": consent.state.value},
            )
        if consent.expires_on is not None and consent.expires_on < self._day:
            return Reason(
                code="consent_expired",
                sentence=f"The client's consent ended on {consent.expires_on}.",
                rule_class=RuleClass.CLIENT,
                facts={"expired_on": consent.expires_on.isoformat()},
            )
        return None

    def _legal_reason(self) -> Reason | None:
        basis = self._bed.legal_basis
        if basis.kind is LegalBasisKind.NOT_ESTABLISHED:
            return Reason(
                code="no_legal_basis",
                sentence="No legal basis for spreading on this bed has been recorded.",
                rule_class=RuleClass.LAW,
            )
        if basis.expires_on is not None and basis.expires_on < self._day:
            return Reason(
                code="legal_basis_expired",
                sentence=f"The legal basis of this bed ended on {basis.expires_on}.",
                rule_class=RuleClass.LAW,
                facts={"expired_on": basis.expires_on.isoformat()},
            )
        return None

    def _ground_reason(self) -> Reason | None:
        bed = self._bed
        if bed.ground_state in WET_GROUND:
            return Reason(
                code="ground_not_fit",
                sentence=f"The ground is {bed.ground_state.value}; nothing is laid on it.",
                rule_class=RuleClass.LAW,
                facts={"ground_state": bed.ground_state.value},
                sources=("gov-uk-u13",),
            )
        if bed.drainage in {Drainage.POOR, Drainage.UNKNOWN}:
            return Reason(
                code="drainage_not_fit",
                sentence=(
                    f"The drainage of this bed is {bed.drainage.value}; "
                    "wet clippings would seal it."
                ),
                rule_class=RuleClass.ADVICE,
                facts={"drainage": bed.drainage.value},
                sources=("common-practice",),
            )
        if bed.ground_state is GroundState.SOFT and bed.drainage is not Drainage.FREE:
            return Reason(
                code="ground_not_fit",
                sentence="The ground is soft and does not drain freely; wait until it is firm.",
                rule_class=RuleClass.ADVICE,
                facts={"ground_state": "soft", "drainage": bed.drainage.value},
                sources=("common-practice",),
            )
        return None

    def _water_reason(
        self, rule: RuleValue, *, distance_m: float | None, water: str
    ) -> Reason | None:
        if distance_m is None:
            return Reason(
                code="water_distance_unknown",
                sentence=f"How far this bed is from {water} has not been recorded.",
                rule_class=class_of(rule),
                facts={"distance_min_m": rule.value},
                sources=rule.sources,
            )
        if distance_m < rule.value:
            return Reason(
                code="too_near_water",
                sentence=(
                    f"The bed is {distance_m:g} m from {water}; "
                    f"at least {rule.value:g} m are asked for."
                ),
                rule_class=class_of(rule),
                facts={"distance_m": distance_m, "distance_min_m": rule.value},
                sources=rule.sources,
            )
        return None

    def _slope_reason(self, rule: RuleValue) -> Reason | None:
        slope_degrees = degrees(atan(self._bed.slope_percent / 100.0))
        if slope_degrees <= rule.value:
            return None
        return Reason(
            code="too_steep",
            sentence=(
                f"The bed slopes {slope_degrees:.0f} degrees; "
                f"above {rule.value:g} clippings wash or slide off."
            ),
            rule_class=class_of(rule),
            facts={"slope_degrees": round(slope_degrees, 1), "slope_degrees_max": rule.value},
            sources=rule.sources,
        )

    def _organic_reason(self) -> Reason | None:
        if not self._bed.organic_certified:
            return None
        return Reason(
            code="organic_certifier_first",
            sentence="The bed is certified organic; its certifier must agree first.",
            rule_class=RuleClass.CLIENT,
        )

    def _rest_reason(self, rule: RuleValue) -> Reason | None:
        last = self._ledger.last_day()
        if last is None:
            return None
        rested_days = (self._day - last).days
        # A layer of the same day is the same visit: the depth limit covers it.
        if rested_days == 0 or rested_days >= rule.value:
            return None
        again_on = date.fromordinal(last.toordinal() + int(rule.value))
        return Reason(
            code="bed_resting",
            sentence=f"The last layer was laid on {last}; the bed rests until {again_on}.",
            rule_class=class_of(rule),
            facts={
                "last_layer_on": last.isoformat(),
                "rest_days_min": rule.value,
                "again_on": again_on.isoformat(),
            },
            sources=rule.sources,
        )

    # -- what depends on the lot ----------------------------------------------------------

    def _lot_reason(self, lot: Lot) -> Reason | None:
        return (
            self._status_reason(lot) or self._same_property_reason(lot) or self._edible_reason(lot)
        )

    def _status_reason(self, lot: Lot) -> Reason | None:
        wait = lot.waits.get("bed")
        if wait is not None and not wait.over:
            return treatment_reason(wait)
        for status, sentence in (
            (LotStatus.LITTERED, "There is litter in the lot; it is sorted in the hold bay first."),
            (LotStatus.UNKNOWN, "What was put on the lawn is not known; unknown is not clean."),
            (LotStatus.DISEASED, "The grass was diseased; only thorough composting ends that."),
            (LotStatus.WEEDY, "Weeds were in seed; only thorough composting ends that."),
        ):
            if status in lot.statuses:
                return Reason(
                    code=f"lot_{status.value}",
                    sentence=sentence,
                    rule_class=RuleClass.ADVICE,
                    facts={"status": status.value},
                    sources=("common-practice",),
                )
        return None

    def _same_property_reason(self, lot: Lot) -> Reason | None:
        if (
            self._bed.legal_basis.kind is not LegalBasisKind.GROWN_ON_SAME_PROPERTY
            or lot.property_id == self._bed.property_id
        ):
            return None
        return Reason(
            code="not_grown_here",
            sentence="This bed's legal basis covers only clippings cut on the same property.",
            rule_class=RuleClass.LAW,
            sources=("gov-uk-u13",),
        )

    def _edible_reason(self, lot: Lot) -> Reason | None:
        if not self._bed.edible:
            return None
        wait = lot.waits.get("edible_bed")
        if wait is not None and not wait.over:
            return treatment_reason(wait)
        if lot.treatments_recorded:
            return Reason(
                code="edible_bed_treated_lawn",
                sentence=(
                    "Beds with food plants take clippings only from lawns "
                    "with no treatment on record."
                ),
                rule_class=RuleClass.ADVICE,
                sources=("common-practice",),
            )
        return None

    # -- how much -------------------------------------------------------------------------

    def yearly_room_kg(self, lot: Lot) -> float:
        """Return what the 12-month account leaves for this lot, whatever the layer [kg]."""
        by_limit = dict(self._room(lot).mass_kg_by_limit)
        return min(mass_kg for name, mass_kg in by_limit.items() if name != "layer_depth")

    def _room(self, lot: Lot) -> BedRoom:
        # Volume and mass at the high end together: what a limit must hold for.
        return bed_room(
            area_m2=self._area_m2,
            density_kg_per_m3=lot.mass_kg.high / lot.volume_m3.high,
            nitrogen_kg_per_kg=lot.nitrogen_kg.high / lot.mass_kg.high,
            layer_depth_mm_max=self._depths[lot.wetness].safe.depth_mm,
            yearly_mass_kg_per_m2_max=self._mass.value,
            yearly_nitrogen_kg_per_ha_max=self._nitrogen.value,
            laid=self._laid,
        )

    def _limits(self, lot: Lot) -> list[Limit]:
        by_limit = dict(self._room(lot).mass_kg_by_limit)
        limits = [
            self._depth_limit(lot, by_limit["layer_depth"]),
            self._mass_limit(by_limit["yearly_mass"]),
            self._nitrogen_limit(by_limit["yearly_nitrogen"]),
        ]
        visit_max_kg = self._bed.consent.mass_per_visit_max_kg
        if visit_max_kg is not None:
            limits.append(
                Limit(
                    mass_kg=visit_max_kg,
                    code="consent_mass",
                    sentence=f"The client takes at most {visit_max_kg:g} kg a visit.",
                    rule_class=RuleClass.CLIENT,
                    facts={"mass_per_visit_max_kg": visit_max_kg},
                )
            )
        return limits

    def _depth_limit(self, lot: Lot, mass_kg: float) -> Limit:
        depth = self._depths[lot.wetness]
        depth_mm = depth.safe.depth_mm
        return Limit(
            mass_kg=mass_kg,
            code="layer_depth",
            sentence=(
                f"{depth_mm:.1f} mm of fresh clippings on {self._area_m2:g} m2 "
                f"is {depth_mm * self._area_m2:.0f} litres, {mass_kg:.0f} kg of this lot."
            ),
            rule_class=RuleClass.ADVICE,
            facts={
                "depth_max_mm": round(depth_mm, 1),
                "binds": depth.safe.binds.value,
                "area_m2": self._area_m2,
            },
            sources=depth.sources,
        )

    def _mass_limit(self, mass_kg: float) -> Limit:
        laid = self._laid.mass_kg_per_m2
        return Limit(
            mass_kg=mass_kg,
            code="yearly_mass",
            sentence=(
                f"{self._mass.value:g} kg/m2 in 12 months, {laid:.2f} already laid "
                f"on {self._area_m2:g} m2: {mass_kg:.0f} kg left."
            ),
            rule_class=class_of(self._mass),
            facts={
                "mass_max_kg_per_m2": self._mass.value,
                "laid_kg_per_m2": round(laid, 3),
            },
            sources=self._mass.sources,
        )

    def _nitrogen_limit(self, mass_kg: float) -> Limit:
        laid = self._laid.nitrogen_kg_per_ha
        return Limit(
            mass_kg=mass_kg,
            code="yearly_nitrogen",
            sentence=(
                f"{self._nitrogen.value:g} kg N/ha in 12 months, {laid:.0f} already laid: "
                f"{mass_kg:.0f} kg of this lot."
            ),
            rule_class=class_of(self._nitrogen),
            facts={
                "nitrogen_max_kg_per_ha": self._nitrogen.value,
                "laid_nitrogen_kg_per_ha": round(laid, 1),
            },
            sources=self._nitrogen.sources,
        )
