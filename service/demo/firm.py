"""The invented firm: its yard, vehicles, crews, and the compost sites around its town."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from typing import Final

from service.core.kills import Kill, KillEvidence
from service.core.materials import LotStatus
from service.core.places import Fee, FeeBasis, OpeningHours

# Numbers that the United Kingdom's regulator keeps for stories (Ofcom, "Telephone numbers for use
# in TV and radio drama programmes"); nobody answers them.
FIRM_NAME: Final = "Quadlethorpe Grounds Care"
FIRM_ADDRESS: Final = "The Yard, Staple Road, Quadlethorpe"
FIRM_PHONE: Final = "01632 960144"
CURRENCY: Final = "GBP"
JURISDICTION: Final = "GB-ENG"
DEPOT_NAME: Final = "Staple Road yard"
SHIFT: Final = (time(7, 30), time(17, 30))
HOLD_BAY_M3: Final = 16.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Truck:
    """A crew and what it drives. No plate begins like these."""

    crew: str
    lead: str
    phone: str
    language: str
    registration: str
    vehicle: str
    payload_kg: float
    body_volume_m3: float
    gross_limit_kg: float
    tare_kg: float


TRUCKS: Final = (
    Truck(
        crew="Robin",
        lead="Dana",
        phone="07700 900211",
        language="en",
        registration="QQ00 AAA",
        vehicle="Van with a caged trailer",
        payload_kg=620,
        body_volume_m3=3.2,
        gross_limit_kg=3500,
        tare_kg=2780,
    ),
    Truck(
        crew="Wren",
        lead="Kasia",
        phone="07700 900212",
        language="pl",
        registration="QQ00 BBB",
        vehicle="Van with a caged trailer",
        payload_kg=620,
        body_volume_m3=3.2,
        gross_limit_kg=3500,
        tare_kg=2790,
    ),
    Truck(
        crew="Heron",
        lead="Tomos",
        phone="07700 900213",
        language="en",
        registration="QQ00 CCC",
        vehicle="Tipper",
        payload_kg=900,
        body_volume_m3=4.5,
        gross_limit_kg=3500,
        tare_kg=2480,
    ),
    Truck(
        crew="Kestrel",
        lead="Inma",
        phone="07700 900214",
        language="es",
        registration="QQ00 DDD",
        vehicle="Tipper with high sides",
        payload_kg=1100,
        body_volume_m3=6.5,
        gross_limit_kg=3500,
        tare_kg=2330,
    ),
    Truck(
        crew="Plover",
        lead="Yusra",
        phone="07700 900215",
        language="en",
        registration="QQ00 EEE",
        vehicle="Tipper with high sides",
        payload_kg=1050,
        body_volume_m3=6.5,
        gross_limit_kg=3500,
        tare_kg=2390,
    ),
    Truck(
        crew="Curlew",
        lead="Bez",
        phone="07700 900216",
        language="en",
        registration="QQ00 FFF",
        vehicle="Tipper",
        payload_kg=900,
        body_volume_m3=4.5,
        gross_limit_kg=3500,
        tare_kg=2500,
    ),
    Truck(
        crew="Dunnock",
        lead="Ama",
        phone="07700 900217",
        language="en",
        registration="QQ00 GGG",
        vehicle="Van with a caged trailer",
        payload_kg=620,
        body_volume_m3=3.2,
        gross_limit_kg=3500,
        tare_kg=2800,
    ),
    Truck(
        crew="Lapwing",
        lead="Piotr",
        phone="07700 900218",
        language="pl",
        registration="QQ00 HHH",
        vehicle="Tipper with high sides",
        payload_kg=1100,
        body_volume_m3=6.5,
        gross_limit_kg=3500,
        tare_kg=2340,
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A compost site: where, when, what it takes and what it asks."""

    name: str
    operator: str
    address: str
    east_m: float
    north_m: float
    opens: time = time(7, 30)
    closes: time = time(17, 0)
    last_load: time = time(16, 30)
    accepted_statuses: tuple[LotStatus, ...] = (LotStatus.CLEAN,)
    daily_capacity_kg: float
    fee: Fee
    process: tuple[float, float, int] | None = None
    kill_evidence: tuple[KillEvidence, ...] = ()

    def hours(self) -> tuple[OpeningHours, ...]:
        """Return its hours: the same every day, so that every day can be the demo's."""
        return tuple(
            OpeningHours(
                weekday=weekday, opens=self.opens, closes=self.closes, last_load=self.last_load
            )
            for weekday in range(7)
        )


SHOWN_ON: Final = date(2024, 3, 4)
HAGG_LANE: Final = "Hagg Lane Composting"
AERODROME: Final = "Aerodrome Windrows"

GATES: Final = (
    Gate(
        name="Quadle Fen Green Waste",
        operator="Quadle Fen Green Waste Co-operative",
        address="Drove End, Quadle Fen",
        east_m=3900,
        north_m=-2600,
        accepted_statuses=(LotStatus.CLEAN, LotStatus.WEEDY),
        daily_capacity_kg=4500,
        fee=Fee(basis=FeeBasis.PER_TONNE, amount_cents=3800, minimum_cents=900),
        process=(66.0, 9.0, 4),
        kill_evidence=(
            KillEvidence(
                kill=Kill.WEED_SEED, reference="Germination test QF-24/011", shown_on=SHOWN_ON
            ),
        ),
    ),
    Gate(
        name=HAGG_LANE,
        operator="Hagg Lane Farms",
        address="Hagg Lane, Tibbengate",
        east_m=-4300,
        north_m=2200,
        accepted_statuses=(
            LotStatus.CLEAN,
            LotStatus.WEEDY,
            LotStatus.DISEASED,
        ),
        daily_capacity_kg=6000,
        fee=Fee(basis=FeeBasis.PER_TONNE, amount_cents=5200, minimum_cents=1500),
        process=(68.0, 12.0, 6),
        kill_evidence=(
            KillEvidence(
                kill=Kill.WEED_SEED, reference="Germination test HL-24/3", shown_on=SHOWN_ON
            ),
            KillEvidence(
                kill=Kill.PLANT_DISEASE, reference="Bait plant trial HL-24/4", shown_on=SHOWN_ON
            ),
        ),
    ),
    Gate(
        name=AERODROME,
        operator="Aerodrome Windrows",
        address="Old Perimeter Road, Nether Quadle",
        east_m=2300,
        north_m=3300,
        daily_capacity_kg=5000,
        fee=Fee(basis=FeeBasis.PER_M3, amount_cents=700),
    ),
    Gate(
        name="Priory Gardens Compost Yard",
        operator="Friends of Priory Gardens",
        address="Priory Gardens, Quadlethorpe",
        east_m=2700,
        north_m=1500,
        opens=time(9, 0),
        closes=time(15, 0),
        last_load=time(14, 30),
        daily_capacity_kg=500,
        fee=Fee(basis=FeeBasis.PER_LOAD, amount_cents=600),
    ),
)
