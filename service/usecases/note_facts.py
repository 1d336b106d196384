"""Gather the facts of a delivery note from the records: never another customer's address."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from service.core.access import Firm
from service.core.crews import Crew, Vehicle
from service.core.jobs import Job
from service.core.loads import Load
from service.core.materials import LotStatus
from service.core.places import (
    Animals,
    Bed,
    Client,
    Depot,
    LegalBasisKind,
    Property,
)
from service.core.places import Drainage as BedDrainage
from service.core.treatments import Treatment as RecordedTreatment
from service.destinations.guidance import BAG_LITRES, BASE_DEPTH_MM, COVER_DEPTH_MM, laying_guidance
from service.destinations.lots import find_lot
from service.documents import (
    Amount,
    Animal,
    BedFacts,
    BindingLimit,
    Browns,
    Carrier,
    Drainage,
    DryLayer,
    DryMaterial,
    EstimateBasis,
    Finding,
    Guidance,
    KeepOff,
    NoteFacts,
    Origin,
    Receiver,
    Replaced,
    Sender,
    Treatment,
    Weighing,
    Wilting,
)
from service.rules.lookup import Rulebook
from service.usecases.lot_facts import LotFacts

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
    BedDrainage.UNKNOWN: Drainage.POOR,
}
# A slope at which rain can carry loose grass; common practice, no source.
SLOPING_PERCENT = 5.0
# Closer than this, water is worth a word on the note; common practice, no source.
WATER_WORTH_A_WORD_M = 200.0
WASTE_CODE = "20 02 01"


@dataclass(frozen=True, slots=True, kw_only=True)
class Parties:
    """Everybody and everything a note names."""

    firm: Firm
    client: Client
    place: Property
    bed: Bed
    depot: Depot
    vehicle: Vehicle
    crew: Crew | None
    load: Load
    jobs: Sequence[Job]
    lot_facts: LotFacts
    room_kg: float


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
    guidance = laying_guidance(
        parties.bed,
        mass_kg=load.mass_kg,
        volume_m3=load.volume_m3,
        wetness=frozenset(job.wetness for job in parties.jobs),
        room_kg=parties.room_kg,
        rulebook=rulebook,
        laid_on=load.working_day,
        jurisdiction=depot.jurisdiction,
    )
    bed = parties.bed
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
        legal_basis=_legal_basis(bed),
        amount=Amount(
            estimate_kg=load.mass_kg,
            basis=EstimateBasis.AREA_AND_HEIGHT,
            weighed=None
            if load.weighed_net is None
            else Weighing(net_kg=load.weighed_net.si_value, ticket=load.weigh_ticket or "-"),
            volume_litres=load.volume_m3.scaled(1000.0, unit="L"),
        ),
        origins=tuple(_origin(job, parties, zone=zone, rulebook=rulebook) for job in parties.jobs),
        bed=BedFacts(
            name=bed.name,
            area_m2=bed.area.si_value,
            grows_food=bed.edible,
            organic=bed.organic_certified,
            animals=frozenset(animal for found in bed.animals for animal in NOTE_ANIMALS[found]),
            sloping=bed.slope_percent > SLOPING_PERCENT,
            drainage=NOTE_DRAINAGE[bed.drainage],
            near_drain_or_paving=True,
        ),
        guidance=Guidance(
            depth_mm=max(guidance.depth.depth_mm, 0.1),
            binding_limit=BindingLimit(guidance.depth.binds.value),
            area_covered_m2=guidance.area_covered_m2,
            layers=guidance.layers,
            days_between_layers=guidance.days_between_layers,
            no_more_before=guidance.no_more_before,
            keep_off=KeepOff(
                stems_mm=guidance.stem_keep_off_mm,
                trunks_mm=guidance.trunk_keep_off_mm,
                water_m=_if_near(bed.water_distance_m, guidance.water_keep_off_m),
                wells_m=_if_near(bed.well_distance_m, guidance.well_keep_off_m),
            ),
            browns=Browns(
                material=DryMaterial.DRY_LEAVES,
                mass_kg=guidance.browns.mass_kg,
                volume_litres=guidance.browns.volume_litres,
                bags=guidance.browns.bags,
                bag_litres=BAG_LITRES,
            ),
            wilting=None
            if guidance.wilting_hours is None
            else Wilting(hours_low=guidance.wilting_hours[0], hours_high=guidance.wilting_hours[1]),
            base=DryLayer(material=DryMaterial.STRAW, depth_mm=BASE_DEPTH_MM),
            cover=DryLayer(material=DryMaterial.DRY_LEAVES, depth_mm=COVER_DEPTH_MM),
        ),
        sources=guidance.sources,
        replaces=replaces,
    )


def _joined(*texts: str | None) -> str:
    return " ".join(text.strip() for text in texts if text and text.strip())


def _if_near(distance_m: float | None, keep_off_m: float) -> float | None:
    return keep_off_m if distance_m is None or distance_m <= WATER_WORTH_A_WORD_M else None


def _legal_basis(bed: Bed) -> str | None:
    basis = bed.legal_basis
    if basis.kind is LegalBasisKind.NOT_ESTABLISHED or basis.reference is None:
        return None
    until = f", until {basis.expires_on.isoformat()}" if basis.expires_on else ""
    return f"{basis.reference}{until}"


def _origin(job: Job, parties: Parties, *, zone: ZoneInfo, rulebook: Rulebook) -> Origin:
    load = parties.load
    arrives = load.done_at or load.arrive_at
    findings = set()
    if job.weeds_in_seed:
        findings.add(Finding.WEEDS_IN_SEED)
    if job.disease_seen:
        findings.add(Finding.DISEASE)
    common = {
        "lot_code": job.lot_code,
        "locality": parties.lot_facts.properties[job.property_id].locality,
        "cut_at": job.at.astimezone(zone),
        "age_hours": max(0.0, (arrives - job.at) / timedelta(hours=1)),
        "records_read_on": parties.load.updated_at.astimezone(zone).date(),
        "findings": frozenset(findings),
    }
    cut_on = job.at.astimezone(zone).date()
    treatments = [
        treatment
        for treatment in parties.lot_facts.treatments_for(job)
        if treatment.applied_on <= cut_on
    ]
    lot = find_lot(
        job,
        treatments=treatments,
        mowings=parties.lot_facts.mowings_for(job),
        rulebook=rulebook,
        day=cut_on,
        jurisdiction=parties.depot.jurisdiction,
    )
    if LotStatus.UNKNOWN in lot.statuses:
        return Origin(treatment=Treatment.NOT_KNOWN, **common)  # type: ignore[arg-type] # mixed
    if not treatments:
        return Origin(treatment=Treatment.NONE_RECORDED, **common)  # type: ignore[arg-type] # mixed
    wait = lot.waits["bed"]
    return Origin(
        treatment=Treatment.RECORDED_AND_CLEAR if wait.over else Treatment.RECORDED_AND_WAITING,
        active_ingredients=_ingredients(treatments),
        treated_on=max(treatment.applied_on for treatment in treatments),
        wait_ends_on=_wait_ended_on(treatments, parties, job, rulebook=rulebook)
        if wait.over
        else None,
        rule=str(wait.facts.get("rule") or "treatment table of the rulebook"),
        **common,  # type: ignore[arg-type] # mixed values of known keys
    )


def _ingredients(treatments: Sequence[RecordedTreatment]) -> tuple[str, ...]:
    names = {
        name
        for treatment in treatments
        for name in (treatment.active_ingredients or (treatment.product,))
    }
    return tuple(sorted(names))


def _wait_ended_on(
    treatments: Sequence[RecordedTreatment],
    parties: Parties,
    job: Job,
    *,
    rulebook: Rulebook,
) -> date:
    """Return the day the last wait for beds ended: by days, or by the mowing that ended it."""
    mowings = parties.lot_facts.mowings_for(job)
    ends = []
    for treatment in treatments:
        ends.append(treatment.applied_on)
        after = [
            at.date()
            for at in mowings.get(treatment.lawn_id, ())
            if at.date() > treatment.applied_on
        ]
        for days, count in _bed_waits(treatment, parties, rulebook=rulebook):
            ends.append(treatment.applied_on + timedelta(days=days))
            if 0 < count <= len(after):
                ends.append(after[count - 1])
    return max(ends)


def _bed_waits(
    treatment: RecordedTreatment, parties: Parties, *, rulebook: Rulebook
) -> list[tuple[int, int]]:
    """Return the (days, mowings) that a treatment's label, or else the table, asks for beds."""
    label = treatment.label_wait
    if label is not None:
        return [(label.days or 0, label.mowings or 0)]
    found = []
    for written in treatment.active_ingredients:
        substance = rulebook.treatments.substance_of(written)
        if substance is None:
            continue
        rows = rulebook.treatments.waits_on(
            substance.name,
            parties.load.working_day,
            jurisdiction=parties.depot.jurisdiction,
        )
        found += [(row.days, row.mowings) for row in rows if row.destination == "bed"]
    return found
