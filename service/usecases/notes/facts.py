"""Gather the facts of a delivery note from the records: never another customer's address."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from service.core.permission.legal_basis import NONE_RECORDED
from service.core.places import (
    Animals,
)
from service.core.places import Drainage as BedDrainage
from service.core.plans import RuleClass
from service.destinations.beds.cautions import grazing_at
from service.destinations.guidance import BAG_LITRES, laying_guidance
from service.destinations.weighed import counted_amounts
from service.documents.facts.bed import (
    Animal,
    BedFacts,
    BindingLimit,
    Browns,
    Drainage,
    DryMaterial,
    Guidance,
    KeepOff,
    LimitOf,
    TooMuch,
    Wilting,
)
from service.documents.facts.note import (
    Amount,
    Carrier,
    EstimateBasis,
    NoteFacts,
    Receiver,
    Replaced,
    Sender,
    Weighing,
)
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.notes.origins import Parties, origin_of

NOTE_ANIMALS = {
    Animals.DOGS_OR_CATS: frozenset({Animal.DOGS, Animal.CATS}),
    Animals.POULTRY: frozenset({Animal.POULTRY}),
    Animals.GRAZING: frozenset({Animal.GRAZING}),
    Animals.HORSES: frozenset({Animal.HORSES}),
}
NOTE_DRAINAGE = {
    BedDrainage.FREE: Drainage.FREE,
    BedDrainage.MODERATE: Drainage.MODERATE,
    BedDrainage.POOR: Drainage.POOR,
    BedDrainage.UNKNOWN: Drainage.NOT_KNOWN,
}
# A slope at which rain can carry loose grass; common practice, no source.
SLOPING_PERCENT = 5.0
# Closer than this, water is worth a word on the note; common practice, no source.
WATER_WORTH_A_WORD_M = 200.0
WASTE_CODE = "20 02 01"


def facts_of(
    parties: Parties,
    *,
    number: str,
    issued_at: datetime,
    replaces: Replaced | None,
    rulebook: Rulebook,
) -> NoteFacts:
    """Return the facts of one version of a load's note."""
    zone = ZoneInfo(parties.depot.time_zone)
    load, depot = parties.load, parties.depot
    counted = counted_amounts(load, {job.id: job for job in parties.jobs})
    too_much = _too_much(parties)
    guidance = laying_guidance(
        parties.bed,
        mass_kg=counted.mass_kg,
        volume_m3=counted.volume_m3,
        wetness=frozenset(job.wetness for job in parties.jobs),
        room_kg=parties.room_kg,
        allowed_kg=None if too_much is None else 0.0 if too_much.is_all else too_much.allowed_kg,
        here=RulesHere(rulebook, load.working_day, depot.jurisdiction),
    )
    bed = parties.bed
    is_elsewhere = bed.legal_basis.is_named_elsewhere(depot.jurisdiction)
    basis = NONE_RECORDED if is_elsewhere else bed.legal_basis
    return NoteFacts(
        number=number,
        version=1 if replaces is None else replaces.version + 1,
        issued_at=issued_at.astimezone(zone),
        working_day=load.working_day,
        sender=Sender(
            name=parties.firm.name, phone=parties.firm.phone, address=parties.firm.address
        ),
        receiver=Receiver(
            name=parties.client.name,
            place=parties.place.address,
            access_notes=_joined(parties.place.access_notes, bed.where_to_lay),
            may_sign=(parties.place.may_sign,) if parties.place.may_sign else (),
        ),
        carrier=Carrier(
            crew=parties.crew.name if parties.crew else parties.firm.name,
            vehicle_registration=parties.vehicle.registration,
        ),
        waste_code=WASTE_CODE if depot.jurisdiction.startswith("GB") else None,
        legal_basis=basis.reference,
        legal_basis_until=basis.expires_on if basis.reference else None,
        amount=Amount(
            estimate_kg=load.mass_kg,
            basis=EstimateBasis.AREA_AND_HEIGHT,
            weighed=None
            if load.weighed_net is None or not load.weight_counts
            else Weighing(net_kg=load.weighed_net.si_value, ticket=load.weigh_ticket or "-"),
            volume_litres=counted.volume_m3.scaled(1000.0, unit="L"),
        ),
        origins=tuple(
            origin_of(
                job,
                parties,
                zone=zone,
                rulebook=rulebook,
                read_on=issued_at.astimezone(zone).date(),
            )
            for job in parties.jobs
        ),
        bed=BedFacts(
            name=bed.name,
            area_m2=bed.area.si_value,
            grows_food=bed.edible,
            organic=bed.organic_certified,
            animals=frozenset(
                animal
                for found in {*bed.animals, *grazing_at(bed)}
                for animal in NOTE_ANIMALS[found]
            ),
            sloping=bed.slope_percent > SLOPING_PERCENT,
            drainage=NOTE_DRAINAGE[bed.drainage],
            near_drain_or_paving=bed.near_drain_or_paving,
            sensitive_plants=(bed.sensitive_plants or "").rstrip(". "),
        ),
        guidance=Guidance(
            depth_mm=max(guidance.depth.depth_mm, 0.1),
            binding_limit=BindingLimit(guidance.depth.binds.value),
            area_covered_m2=guidance.area_covered_m2,
            layers=guidance.layers,
            days_between_layers=guidance.days_between_layers,
            # Once its law or its year is used up, a few days are no answer.
            no_more_before=guidance.no_more_before if not _is_more_for_long(parties) else None,
            keep_off=KeepOff(
                stems_mm=guidance.stem_keep_off_mm,
                trunks_mm=guidance.trunk_keep_off_mm,
                water_m=_if_near(bed.water_distance_m, guidance.water_keep_off_m),
                wells_m=_if_near(bed.well_distance_m, guidance.well_keep_off_m),
            ),
            browns=None
            if guidance.browns is None
            else Browns(
                material=DryMaterial.DRY_LEAVES,
                mass_kg=guidance.browns.mass_kg,
                volume_litres=guidance.browns.volume_litres,
                bags=guidance.browns.bags,
                bag_litres=BAG_LITRES,
            ),
            has_leaves=any(job.leaves_mixed for job in parties.jobs),
            wilting=None
            if guidance.wilting_hours is None
            else Wilting(hours_low=guidance.wilting_hours[0], hours_high=guidance.wilting_hours[1]),
            too_much=too_much,
        ),
        sources=tuple(sorted({*guidance.sources, *load.mass_kg.sources})),
        replaces=replaces,
        called_back=parties.called_back,
    )


def _too_much(parties: Parties) -> TooMuch | None:
    """Return that a load is more than its bed may have; not what only may be, at its wettest."""
    over = parties.over
    if over is None or not over.is_likely_over(over.limit):
        return None
    whose = {RuleClass.LAW: LimitOf.LAW, RuleClass.CLIENT: LimitOf.CLIENT}
    by_law = (limit for limit in over.broken[1:] if limit.rule_class is RuleClass.LAW)
    return TooMuch(
        limit_of=whose.get(over.limit.rule_class, LimitOf.ADVICE),
        allowed_kg=over.limit.mass_kg,
        law_allows_kg=next((one.mass_kg for one in by_law if over.is_likely_over(one)), None),
    )


def _is_more_for_long(parties: Parties) -> bool:
    """Return whether a load is likely more than a limit that lasts longer than a visit."""
    over = parties.over
    return over is not None and any(
        over.is_likely_over(limit)
        for limit in over.broken
        if limit.rule_class is not RuleClass.CLIENT
    )


def _joined(*texts: str | None) -> str:
    return " ".join(text.strip() for text in texts if text and text.strip())


def _if_near(distance_m: float | None, keep_off_m: float) -> float | None:
    return keep_off_m if distance_m is None or distance_m <= WATER_WORTH_A_WORD_M else None
