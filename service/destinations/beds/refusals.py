"""Why a bed takes nothing at all on a day: consent, law, ground, water, slope, rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from math import atan, degrees
from typing import Final

from service.core.measures.units import date_words
from service.core.permission.consent import ConsentState
from service.core.permission.legal_basis import LegalBasisKind
from service.core.places import Bed, Drainage, GroundState
from service.core.plans import RuleClass
from service.destinations.beds.cautions import WET_GROUND, animals_reason
from service.destinations.beds.law import law_facts, law_told, law_words
from service.destinations.laid.ledger import BedLedger
from service.destinations.reasons import Reason, refusal
from service.rules.here import RulesHere
from service.rules.lookup import Law, Ruled

WATERS: Final = {"watercourse": "a watercourse", "well": "a well, spring or borehole"}


@dataclass(frozen=True, slots=True, kw_only=True)
class BedStanding:
    """A bed, its ledger and the day: everything a refusal of every lot can come from."""

    bed: Bed
    ledger: BedLedger
    day: date
    ground_now: GroundState
    shut: Reason | None = None

    def reasons(self, here: RulesHere) -> Iterator[Reason]:
        """Yield what stands against the bed on the day, what is told first first."""
        facts = law_facts(self.bed, here.jurisdiction)

        def rule(name: str) -> Ruled:
            return here.ruled(name, facts)

        asked: tuple[Callable[[], Reason | None], ...] = (
            self._consent_reason,
            lambda: self.shut,
            lambda: animals_reason(self.bed),
            lambda: self._legal_reason(rule("legal_basis_needed"), here),
            lambda: self._ground_reason(rule("fit_ground_needed")),
            lambda: self._water_reason(
                rule("water_course_distance_m_min"),
                distance_m=self.bed.water_distance_m,
                water="watercourse",
            ),
            lambda: self._water_reason(
                rule("well_distance_m_min"),
                distance_m=self.bed.well_distance_m,
                water="well",
            ),
            lambda: self._zone_reason(here.book.places.authority(here.jurisdiction)),
            lambda: self._slope_reason(rule("slope_degrees_max")),
            self._organic_reason,
            lambda: self._rest_reason(rule("layer_rest_days_min")),
        )
        for ask in asked:
            reason = ask()
            if reason is not None:
                yield reason

    def _consent_reason(self) -> Reason | None:
        consent = self.bed.consent
        if consent.state is not ConsentState.GIVEN:
            words = consent.state.value.replace("_", " ")
            return refusal(
                RuleClass.CLIENT,
                "no_consent",
                f"The client's consent for this bed is: {words}.",
                consent=consent.state.value,
            )
        if consent.given_on is not None and consent.given_on > self.day:
            return refusal(
                RuleClass.CLIENT,
                "consent_not_yet",
                f"The client's consent begins on {date_words(consent.given_on)}.",
                given_on=consent.given_on.isoformat(),
            )
        if consent.expires_on is not None and consent.expires_on < self.day:
            return refusal(
                RuleClass.CLIENT,
                "consent_expired",
                f"The client's consent ended on {date_words(consent.expires_on)}.",
                expired_on=consent.expires_on.isoformat(),
            )
        return None

    def _legal_reason(self, ruled: Ruled, here: RulesHere) -> Reason | None:
        basis = self.bed.legal_basis
        known = ruled.law is Law.BINDS
        if basis.kind is LegalBasisKind.NOT_ESTABLISHED:
            ask = here.book.places.authority(here.jurisdiction)
            unknown = f" Whether one is needed in {here.jurisdiction} is not known here: ask {ask}."
            if known:
                unknown = ""
            return refusal(
                ruled,
                "no_legal_basis",
                f"No legal basis for spreading on this bed has been recorded.{unknown}",
                **(
                    law_told(ruled)
                    if known
                    else {"law": "not_known", "missing": ["legal_basis"], "ask": ask}
                ),
            )
        if basis.exemption is not None and basis.is_named_elsewhere(here.jurisdiction):
            ask = here.book.places.authority(here.jurisdiction)
            return refusal(
                ruled,
                "exemption_of_elsewhere",
                f"The exemption on record, {basis.exemption.value.upper()}, is one of England "
                f"and Wales and covers nothing in {here.jurisdiction}. Ask {ask} what is needed.",
                sources=("uksi-2016-1154",),
                exemption=basis.exemption.value.upper(),
                ask=ask,
            )
        if basis.missing:
            words = {"reference": "its reference", "expires_on": "its last day"}
            return refusal(
                ruled,
                "legal_basis_incomplete",
                "The legal basis of this bed is registered, but "
                f"{' and '.join(words[name] for name in basis.missing)} is not on record.",
                **{**law_told(ruled), "missing": list(basis.missing)},
            )
        if basis.expires_on is not None and basis.expires_on < self.day:
            return refusal(
                ruled,
                "legal_basis_expired",
                f"The legal basis of this bed ended on {date_words(basis.expires_on)}.",
                **law_told(ruled),
                expired_on=basis.expires_on.isoformat(),
            )
        return None

    def _ground_reason(self, ruled: Ruled) -> Reason | None:
        bed = self.bed
        if self.ground_now in WET_GROUND:
            return refusal(
                ruled,
                "ground_not_fit",
                f"The ground is {self.ground_now.value}; nothing is laid on it.{law_words(ruled)}",
                ground_state=self.ground_now.value,
                **law_told(ruled),
            )
        if bed.drainage is Drainage.UNKNOWN:
            return refusal(
                RuleClass.ADVICE,
                "drainage_unknown",
                "How this bed drains is not on record; wet clippings could seal it. Ask the "
                "client, or look after rain, and record what is seen.",
                drainage=bed.drainage.value,
            )
        if bed.drainage is Drainage.POOR:
            return refusal(
                RuleClass.ADVICE,
                "drainage_not_fit",
                "The drainage of this bed is poor; wet clippings would seal it.",
                drainage=bed.drainage.value,
            )
        if self.ground_now is GroundState.SOFT and bed.drainage is not Drainage.FREE:
            return refusal(
                RuleClass.ADVICE,
                "ground_not_fit",
                "The ground is soft and does not drain freely; wait until it is firm.",
                ground_state="soft",
                drainage=bed.drainage.value,
            )
        return None

    def _water_reason(self, ruled: Ruled, *, distance_m: float | None, water: str) -> Reason | None:
        rule = ruled.row
        if distance_m is None:
            return refusal(
                ruled,
                "water_distance_unknown",
                f"How far this bed is from {WATERS[water]} has not been recorded.",
                water=water,
                distance_min_m=rule.value,
                **law_told(ruled),
            )
        if distance_m < rule.value:
            return refusal(
                ruled,
                "too_near_water",
                f"The bed is {distance_m:g} m from {WATERS[water]}; "
                f"at least {rule.value:g} m are asked for.{law_words(ruled)}",
                water=water,
                distance_m=distance_m,
                distance_min_m=rule.value,
                **law_told(ruled),
            )
        return None

    def _slope_reason(self, ruled: Ruled) -> Reason | None:
        rule = ruled.row
        slope_degrees = degrees(atan(self.bed.slope_percent / 100.0))
        if slope_degrees <= rule.value:
            return None
        return refusal(
            ruled,
            "too_steep",
            f"The bed slopes {slope_degrees:.0f} degrees; "
            f"above {rule.value:g} clippings wash or slide off.",
            slope_degrees=round(slope_degrees, 1),
            slope_degrees_max=rule.value,
        )

    def _zone_reason(self, ask: str) -> Reason | None:
        """Return that it lies in a water protection zone, until a permit is on record.

        Every zone has an order of its own, and no rule here holds for all: that fresh plant matter
        is looked at case by case in the inner zones and the outer one is what [bgk-2008-water]
        says. So it is advice and never law, and a permit is the word of whoever knows.
        """
        basis = self.bed.legal_basis.kind
        if not self.bed.water_protection_zone or basis is LegalBasisKind.PERMIT:
            return None
        return refusal(
            RuleClass.ADVICE,
            "in_water_protection_zone",
            "The bed lies in a water protection zone. What may be laid there, the order of that "
            f"zone says, which is not known here: ask {ask}, or who supplies the water. What they "
            "allow is kept as the bed's permit (legal_basis).",
            sources=("bgk-2008-water",),
            ask=ask,
        )

    def _organic_reason(self) -> Reason | None:
        if not self.bed.organic_certified:
            return None
        return refusal(
            RuleClass.CLIENT,
            "organic_certifier_first",
            "The bed is certified organic; its certifier must agree first.",
        )

    def _rest_reason(self, ruled: Ruled) -> Reason | None:
        rule = ruled.row
        last = self.ledger.last_day()
        if last is None:
            return None
        rested_days = (self.day - last).days
        # A layer of the same day is the same visit: the depth limit covers it.
        if rested_days == 0 or rested_days >= rule.value:
            return None
        again_on = date.fromordinal(last.toordinal() + int(rule.value))
        return refusal(
            ruled,
            "bed_resting",
            f"The last layer was laid on {date_words(last)}; "
            f"the bed rests until {date_words(again_on)}.",
            last_layer_on=last.isoformat(),
            rest_days_min=rule.value,
            again_on=again_on.isoformat(),
        )
