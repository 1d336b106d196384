"""The crews' rounds of the day: whose lawn, how much comes off, and what is wrong with it.

Everybody here is invented. Areas and heights are those of ordinary gardens, greens and fields.
"""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass
from typing import Final

from service.core.materials import GrassKind, TreatmentHistory, Wetness
from service.core.treatments import LabelWait, StatementSource


@dataclass(frozen=True, slots=True, kw_only=True)
class Sprayed:
    """A product on a lawn, some days ago, and how often the lawn was mown since."""

    product: str
    active_ingredients: tuple[str, ...] = ()
    days_ago: int
    mowings_since: int = 0
    source: StatementSource = StatementSource.APPLICATOR_RECORD
    stated_by: str = "Quadle Turf Treatments, spray record"
    label_wait: LabelWait | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    """One lawn of a round.

    Attributes
    ----------
    area
        In `unit`, a UCUM code: crews write what they are used to.
    height_mm
        What comes off [mm].
    """

    street: str
    number: int
    area: float
    height_mm: float
    client: str
    _: KW_ONLY
    name: str | None = None
    unit: str = "m2"
    grass_kind: GrassKind = GrassKind.COOL_SEASON
    wetness: Wetness = Wetness.DRY
    treatment_history: TreatmentHistory = TreatmentHistory.NONE_RECORDED
    weeds_in_seed: bool = False
    disease_seen: bool = False
    litter_seen: bool = False
    sprayed: Sprayed | None = None
    left: bool = False
    remarks: str | None = None

    @property
    def house(self) -> tuple[str, int]:
        """Return the street and the number: what names a place here."""
        return self.street, self.number


# A lawn that nobody has posted today: what a crew may yet send in.
FORGOTTEN: Final = Visit("Orchard Lane", 41, 220, 30, "Ms Appledore")

THREE_WAY: Final = ("2,4-D", "mecoprop-P", "dicamba")

ROUNDS: Final[dict[str, tuple[Visit, ...]]] = {
    "Robin": (
        Visit("Orchard Lane", 3, 160, 25, "Ms Tarrow", wetness=Wetness.DEWY),
        Visit("Orchard Lane", 8, 210, 25, "Mr Penhale", wetness=Wetness.DEWY),
        Visit("Orchard Lane", 15, 140, 30, "Mrs Odusanya"),
        Visit("Orchard Lane", 22, 185, 25, "Mr and Mrs Vesty"),
        Visit("Larkspur Road", 9, 175, 25, "Mr Ilchester-Rao"),
        Visit(
            "Larkspur Road",
            16,
            260,
            25,
            "Dr Sallowby",
            sprayed=Sprayed(
                product="selective lawn weedkiller, three-way",
                active_ingredients=THREE_WAY,
                days_ago=70,
                mowings_since=6,
            ),
        ),
        Visit(
            "Larkspur Road",
            4,
            230,
            30,
            "Ms Brackwell",
            treatment_history=TreatmentHistory.UNKNOWN,
            remarks="New customer; nobody knows what the last firm sprayed.",
        ),
        Visit("Larkspur Road", 21, 150, 25, "Mrs Kettlewick"),
    ),
    "Dunnock": (
        Visit(
            "Cordwainer Street",
            34,
            280,
            25,
            "Ms Fenwright",
            litter_seen=True,
            remarks="Drink cans and a torn bin bag in the long grass.",
        ),
        Visit("Cordwainer Street", 18, 240, 25, "Mrs Thackmoor", wetness=Wetness.DEWY),
        Visit("Cordwainer Street", 25, 205, 30, "Mr Silverdyke"),
        Visit("Larkspur Road", 30, 320, 30, "Mr Dunmorrow"),
        Visit("Cordwainer Street", 2, 120, 25, "Ms Amberly-Wood"),
        Visit("Cordwainer Street", 11, 190, 25, "Mr Oyelaran"),
        Visit("Orchard Lane", 31, 290, 25, "Mr Treadgold"),
        Visit("Church Walk", 38, 280, 25, "Mr Ebbsworth"),
    ),
    "Wren": (
        Visit("Mill Dyke", 5, 330, 25, "Mr Joskin", unit="[syd_i]"),
        Visit("Mill Dyke", 12, 190, 30, "Mrs Abara"),
        Visit("Mill Dyke", 19, 260, 25, "Ms Wherrett"),
        Visit(
            "Mill Dyke",
            26,
            310,
            20,
            "Mr and Ms Colverdale",
            sprayed=Sprayed(
                product="selective lawn weedkiller, three-way",
                active_ingredients=THREE_WAY,
                days_ago=5,
            ),
        ),
        Visit("Mill Dyke", 33, 170, 25, "Mrs Norrowby"),
        Visit("Priory Close", 2, 280, 25, "Mr Hallimond"),
        Visit("Priory Close", 7, 350, 30, "Ms Stannery"),
        Visit("Priory Close", 14, 220, 25, "Mr Gedny-Cole"),
    ),
    "Heron": (
        Visit(
            "Saltergate",
            1,
            900,
            25,
            "Quadlethorpe Almshouses Trust",
            name="Almshouse court",
            wetness=Wetness.DEWY,
        ),
        Visit("Saltergate", 12, 240, 30, "Mrs Ruddock-Hale"),
        Visit("Saltergate", 20, 310, 25, "Mr Wexley"),
        Visit("Saltergate", 27, 180, 25, "Ms Tindalow", weeds_in_seed=True),
        Visit("Saltergate", 36, 420, 25, "Mr Barrowdene"),
        Visit("Halfpenny Row", 4, 130, 25, "Mrs Cusholme"),
        Visit(
            "Halfpenny Row",
            11,
            150,
            20,
            "Mr Lathom-Byrd",
            sprayed=Sprayed(
                product="lawn weed and feed, long-lasting",
                active_ingredients=("aminocyclopyrachlor",),
                days_ago=21,
                mowings_since=2,
                label_wait=LabelWait(leave_on_lawn=True),
            ),
        ),
        Visit("Halfpenny Row", 18, 200, 30, "Ms Pinderfield"),
    ),
    "Lapwing": (
        Visit(
            "Halfpenny Row",
            25,
            260,
            45,
            "Mr Askerby",
            treatment_history=TreatmentHistory.UNKNOWN,
            remarks="Let go since August; the tenant has moved out.",
        ),
        Visit(
            "Cordwainer Street",
            60,
            800,
            25,
            "Quadlethorpe Town Council",
            name="Market garden lawns",
        ),
        Visit(
            "Larkspur Road",
            50,
            1200,
            25,
            "Quadlethorpe Housing Association",
            name="Larkspur greens",
        ),
        Visit("Halfpenny Row", 32, 170, 25, "Mrs Yaxley-Moon"),
        Visit(
            "Halfpenny Row",
            50,
            1000,
            25,
            "Quadlethorpe Town Council",
            name="Halfpenny Row play area",
        ),
        Visit(
            "Orchard Lane",
            60,
            700,
            25,
            "Orchard Lane Surgery",
            name="Surgery grounds",
            sprayed=Sprayed(
                product="something for the moss, label lost",
                days_ago=16,
                mowings_since=1,
                source=StatementSource.CLIENT_STATEMENT,
                stated_by="the surgery's caretaker",
            ),
        ),
        Visit(
            "Saltergate",
            60,
            1400,
            20,
            "Quadlethorpe Town Council",
            name="Saltergate recreation ground, edge",
            litter_seen=True,
        ),
        Visit(
            "Green End",
            40,
            1600,
            25,
            "Nether Quadle Parish Council",
            name="Village green",
            unit="m2",
        ),
    ),
    "Kestrel": (
        Visit(
            "Staple Road",
            10,
            1500,
            20,
            "Wendle Gate Business Park",
            name="Business park, front lawns",
            wetness=Wetness.DEWY,
        ),
        Visit(
            "Staple Road",
            24,
            1100,
            25,
            "Wendle Gate Business Park",
            name="Business park, pond side",
        ),
        Visit(
            "Priory Close",
            30,
            1300,
            25,
            "Quadlethorpe Housing Association",
            name="Priory Close greens",
            disease_seen=True,
            remarks="Red thread in patches along the north side.",
        ),
        Visit(
            "Mill Dyke",
            60,
            900,
            30,
            "Quadlethorpe Housing Association",
            name="Mill Dyke verge",
            weeds_in_seed=True,
        ),
        Visit(
            "Staple Road",
            40,
            0.3,
            25,
            "Wendle Gate Business Park",
            name="Business park, back field",
            unit="43560.[sft_i]",
        ),
        Visit("Fen Drove", 4, 900, 25, "Mr and Mrs Sleightholme-Roe"),
        Visit(
            "Fen Drove",
            15,
            1200,
            25,
            "Quadle Fen Chapel Trust",
            name="Chapel ground",
        ),
    ),
    "Plover": (
        Visit(
            "Church Walk",
            1,
            1100,
            30,
            "Nether Quadle Parish Council",
            name="Churchyard",
            wetness=Wetness.DEWY,
        ),
        Visit("Church Walk", 9, 380, 25, "Mrs Lillimore"),
        Visit("Church Walk", 16, 450, 25, "Mr Sedgecombe-Ali"),
        Visit("Church Walk", 23, 300, 30, "Ms Harkaway"),
        Visit("Green End", 2, 520, 25, "Mr Quennell-Shaw"),
        Visit(
            "Green End",
            11,
            640,
            25,
            "Mrs Dray",
            sprayed=Sprayed(
                product="moss killer with iron",
                active_ingredients=("ferrous sulfate",),
                days_ago=35,
                mowings_since=3,
                label_wait=LabelWait(days=14, mowings=2),
            ),
        ),
        Visit(
            "Green End",
            18,
            410,
            20,
            "Mr Frostwick",
            sprayed=Sprayed(
                product="selective weedkiller for clover",
                active_ingredients=("clopyralid", "MCPA"),
                days_ago=60,
                mowings_since=5,
            ),
        ),
        Visit("Green End", 27, 350, 25, "Ms Tolliver-Ng"),
        Visit(
            "Church Walk",
            52,
            1800,
            30,
            "Nether Quadle School",
            name="School field",
        ),
    ),
    "Curlew": (
        Visit("Beck Side", 3, 480, 25, "Mrs Garthmoor", wetness=Wetness.RAINED_ON),
        Visit("Beck Side", 10, 360, 25, "Mr Wardle-Finch", wetness=Wetness.DEWY),
        Visit("Beck Side", 17, 540, 30, "Ms Orrinsmith"),
        Visit("Beck Side", 24, 290, 25, "Mr Hopwell"),
        Visit("Ropewalk", 5, 330, 25, "Mrs Stroud-Adeyemi"),
        Visit("Ropewalk", 12, 410, 30, "Mr Callowhill", disease_seen=True),
        Visit("Ropewalk", 19, 260, 25, "Ms Bexley-Tarn"),
        Visit("Ropewalk", 26, 300, 20, "Mr Mossop-Lane", left=True),
        Visit("Fen Drove", 9, 700, 25, "Fen Drove Kennels", name="Kennels paddock"),
    ),
}
