"""Valid notes to start a test from; a test changes only what matters to it."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

from service.core.measures.estimates import Estimate
from service.documents.facts.bed import (
    Animal,
    BedFacts,
    BindingLimit,
    Browns,
    Drainage,
    DryLayer,
    DryMaterial,
    Guidance,
    KeepOff,
    Wilting,
)
from service.documents.facts.note import (
    Amount,
    Carrier,
    Change,
    EstimateBasis,
    Finding,
    NoteFacts,
    Origin,
    Receiver,
    Replaced,
    Sender,
    Treatment,
    Weighing,
)
from service.documents.facts.values import LotStatement, LotStatements, Named, Quantity, Unit

DEPOT = timezone(timedelta(hours=1))
PAGE = "https://notes.example/n/0198f2c7?until=2026-08-24&sign=4f1c9ab27d"


def kilograms(low: float, likely: float, high: float) -> Estimate:
    return Estimate(low=low, likely=likely, high=high, unit="kg", basis="test", sources=())


def litres(low: float, likely: float, high: float) -> Estimate:
    return Estimate(low=low, likely=likely, high=high, unit="L", basis="test", sources=())


def an_origin(
    lot_code: str = "M7-0524-1", treatment: Treatment = Treatment.NONE_RECORDED
) -> Origin:
    origin = Origin(
        lot_code=lot_code,
        locality="Oakham",
        cut_at=datetime(2026, 5, 24, 9, 40, tzinfo=DEPOT),
        age_hours=3.4,
        treatment=Treatment.NONE_RECORDED,
        records_read_on=date(2026, 5, 24),
    )
    if treatment is Treatment.NOT_KNOWN:
        return replace(origin, treatment=treatment)
    if treatment in (Treatment.RECORDED_AND_CLEAR, Treatment.RECORDED_AND_WAITING):
        cleared = treatment is Treatment.RECORDED_AND_CLEAR
        return replace(
            origin,
            treatment=treatment,
            active_ingredients=("2,4-D", "mecoprop-P"),
            treated_on=date(2026, 3, 2),
            wait_ends_on=date(2026, 5, 4) if cleared else date(2027, 3, 2),
            rule="Label, four mowings",
        )
    return origin


def a_bed(**changes: object) -> BedFacts:
    bed = BedFacts(
        name="Rose border by the gate",
        area_m2=31.5,
        grows_food=False,
        organic=False,
        animals=frozenset({Animal.DOGS}),
        sloping=False,
        drainage=Drainage.FREE,
        near_drain_or_paving=True,
    )
    return replace(bed, **changes)


def a_guidance(**changes: object) -> Guidance:
    guidance = Guidance(
        depth_mm=12.7,
        binding_limit=BindingLimit.PRACTICE,
        area_covered_m2=28.3,
        layers=1,
        days_between_layers=14,
        no_more_before=date(2026, 6, 7),
        keep_off=KeepOff(stems_mm=75, trunks_mm=150, water_m=10, wells_m=50),
        browns=Browns(
            material=DryMaterial.DRY_LEAVES, mass_kg=38, volume_litres=420, bags=7, bag_litres=60
        ),
    )
    return replace(guidance, **changes)


def a_note(**changes: object) -> NoteFacts:
    """An ordinary delivery: one lot, an estimate, a rose bed, a dog."""
    note = NoteFacts(
        number="DN-2026-000123",
        version=1,
        issued_at=datetime(2026, 5, 24, 13, 5, tzinfo=DEPOT),
        working_day=date(2026, 5, 24),
        sender=Sender(
            name="Meadow & Daughters", phone="+44 1632 960 100", address="1 Depot Lane, Oakham"
        ),
        receiver=Receiver(
            name="R. Alvarez",
            place="12 Orchard Street, Oakham",
            access_notes="Side gate, left of the shed",
            may_sign=("R. Alvarez", "P. Alvarez"),
        ),
        carrier=Carrier(crew="Crew 3", vehicle_registration="AB12 CDE"),
        amount=Amount(
            estimate_kg=kilograms(118, 182, 263),
            basis=EstimateBasis.AREA_AND_HEIGHT,
            weighed=None,
            volume_litres=litres(310, 640, 930),
        ),
        origins=(an_origin(),),
        bed=a_bed(),
        guidance=a_guidance(),
        sources=("epa-2016-volume", "gov-uk-u13"),
    )
    return replace(note, **changes)


def _said_of_k2(treatment: Treatment) -> LotStatements:
    said = Named(key=f"statement.{treatment}")
    return LotStatements(lots=(LotStatement(lot_code="K2-0524-9", statement=said),))


def a_hard_note() -> NoteFacts:
    """A correction with everything on it: long names, four lots, food, animals, wet grass."""
    return a_note(
        number="DN-2026-000124",
        version=2,
        sender=Sender(
            name="Zielona Dolina Pielęgnacja Ogrodów Jankowski-Brzęczyszczykiewicz i Wspólnicy",
            phone="+48 12 345 67 89 ext. 4",
            address="ul. Generała Stanisława Maczka 128/3, 31-980 Kraków-Nowa Huta",
        ),
        receiver=Receiver(
            name="Wspólnota Mieszkaniowa Osiedle Słoneczne Wzgórze, zarządca Elżbieta Wróblewska",
            place="Aleja Marszałka Józefa Piłsudskiego 214B, wejście od podwórza, 31-110 Kraków",
            access_notes="Brama od ulicy Ogrodowej, kod ma brygada; za szopą w lewo, uwaga pies",
            may_sign=("Elżbieta Wróblewska", "Krzysztof Świętopełk-Mirski", "Dozorca"),
        ),
        carrier=Carrier(
            crew="Brygada 3 (Małgorzata, Łukasz)",
            vehicle_registration="KR 7XY42 + KR 91PT",
            carrier_registration="CBDU123456",
        ),
        waste_code="20 02 01",
        legal_basis="U12 mulch, WEX123456",
        legal_basis_until=date(2027, 3, 1),
        amount=Amount(
            estimate_kg=kilograms(410, 690, 1240),
            basis=EstimateBasis.SHARE_OF_LOAD,
            weighed=Weighing(net_kg=874, ticket="W-20260524-5521"),
            volume_litres=litres(980, 1900, 3400),
        ),
        origins=(
            an_origin("M7-0524-1"),
            replace(
                an_origin("M7-0524-4", Treatment.RECORDED_AND_CLEAR),
                locality="Kraków-Krowodrza",
                findings=frozenset({Finding.WEEDS_IN_SEED}),
            ),
            replace(an_origin("K2-0524-9", Treatment.NOT_KNOWN), locality="Wieliczka"),
            replace(
                an_origin("K2-0524-11", Treatment.RECORDED_AND_WAITING),
                findings=frozenset({Finding.DISEASE}),
                active_ingredients=("clopyralid", "triclopyr", "fluroxypyr"),
            ),
        ),
        bed=a_bed(
            name="Warzywnik za domem, grządki przy płocie i pod jabłoniami",
            area_m2=148,
            grows_food=True,
            organic=True,
            animals=frozenset(Animal),
            sloping=True,
            drainage=Drainage.POOR,
        ),
        guidance=a_guidance(
            binding_limit=BindingLimit.LEDGER,
            depth_mm=11,
            area_covered_m2=296,
            layers=2,
            browns=Browns(
                material=DryMaterial.SHREDDED_CARDBOARD,
                mass_kg=212,
                volume_litres=3150,
                bags=53,
                bag_litres=60,
            ),
            wilting=Wilting(hours_low=4, hours_high=24),
            base=DryLayer(material=DryMaterial.WOOD_CHIPS, depth_mm=20),
            cover=DryLayer(material=DryMaterial.STRAW, depth_mm=10),
        ),
        replaces=Replaced(
            version=1,
            changes=(
                Change(
                    field="estimate_kg",
                    old=kilograms(500, 800, 1400),
                    new=kilograms(410, 690, 1240),
                ),
                Change(
                    field="cut_at",
                    old=datetime(2026, 5, 24, 7, 30, tzinfo=UTC),
                    new=datetime(2026, 5, 24, 8, 40, tzinfo=UTC),
                ),
                Change(
                    field="treatment",
                    old=_said_of_k2(Treatment.NONE_RECORDED),
                    new=_said_of_k2(Treatment.NOT_KNOWN),
                ),
                Change(
                    field="depth_mm",
                    old=Quantity(value=12.7, unit=Unit.MILLIMETRE),
                    new=Quantity(value=11, unit=Unit.MILLIMETRE),
                ),
            ),
        ),
    )
