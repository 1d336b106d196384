"""Client beds of the invented town: willing ones, and one for most ways to be refused."""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass
from datetime import timedelta
from typing import Final

from service.core.consent import ConsentState
from service.core.legal_basis import LegalBasisKind
from service.core.places import Animals, Drainage, GroundState

FAR_M: Final = 400.0
YEAR: Final = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Plot:
    """One bed. Ends are counted from the demo's day; a negative one has passed.

    Attributes
    ----------
    early
        A bed that took clippings before the demo's day, so that it is known from the start.
    """

    street: str
    number: int
    name: str
    area_m2: float
    _: KW_ONLY
    drainage: Drainage = Drainage.FREE
    ground_state: GroundState = GroundState.FIRM
    edible: bool = False
    organic_certified: bool = False
    water_distance_m: float | None = FAR_M
    well_distance_m: float | None = FAR_M
    animals: tuple[Animals, ...] = ()
    animals_beside: tuple[Animals, ...] = ()
    fenced: bool | None = None
    slope_percent: float = 0.0
    consent: ConsentState = ConsentState.GIVEN
    consent_ends: timedelta | None = YEAR
    mass_per_visit_max_kg: float | None = None
    legal_basis: LegalBasisKind = LegalBasisKind.REGISTERED_EXEMPTION
    legal_basis_ends: timedelta | None = 2 * YEAR
    sensitive_plants: str | None = None
    where_to_lay: str | None = None
    early: bool = False

    @property
    def house(self) -> tuple[str, int]:
        """Return the street and the number of its property."""
        return self.street, self.number


SAME_PROPERTY: Final = LegalBasisKind.GROWN_ON_SAME_PROPERTY

PLOTS: Final = (
    # Willing, by size of garden.
    Plot("Orchard Lane", 3, "Rose border", 24, where_to_lay="Between the roses, off the graft."),
    Plot("Orchard Lane", 8, "Front shrubs", 18, animals=(Animals.DOGS_OR_CATS,)),
    Plot("Orchard Lane", 22, "Hedge bottom", 30),
    Plot("Orchard Lane", 31, "Apple tree circles", 26, legal_basis=SAME_PROPERTY),
    Plot("Larkspur Road", 9, "Lilac bed", 16),
    Plot("Larkspur Road", 16, "Long border", 42, where_to_lay="Behind the box edging."),
    Plot("Larkspur Road", 30, "Shade border", 28),
    Plot("Larkspur Road", 50, "Greens, shrub islands", 160),
    Plot("Cordwainer Street", 2, "Courtyard bed", 9, mass_per_visit_max_kg=20),
    Plot("Cordwainer Street", 11, "Hydrangeas", 14),
    Plot("Cordwainer Street", 25, "Back border", 33, animals=(Animals.DOGS_OR_CATS,)),
    Plot("Cordwainer Street", 60, "Market garden shrubbery", 210),
    Plot("Mill Dyke", 12, "Fuchsia bed", 20),
    Plot("Mill Dyke", 33, "Hedge bottom", 25, legal_basis=SAME_PROPERTY),
    Plot("Priory Close", 2, "Birch underplanting", 38),
    Plot("Priory Close", 14, "Side border", 21, mass_per_visit_max_kg=40),
    Plot("Saltergate", 1, "Almshouse borders", 85, where_to_lay="Ring the warden first."),
    Plot("Saltergate", 36, "Laurel bank", 48, slope_percent=8),
    Plot("Halfpenny Row", 18, "Front bed", 15),
    Plot("Staple Road", 10, "Car park shrubs", 240),
    Plot("Church Walk", 9, "Holly hedge", 36),
    Plot("Church Walk", 23, "Peony border", 27),
    Plot("Green End", 2, "Orchard strip", 60, legal_basis=SAME_PROPERTY),
    Plot("Green End", 27, "Dogwood bed", 44),
    Plot("Beck Side", 17, "Yew walk", 52),
    Plot("Ropewalk", 5, "Spring border", 31),
    Plot("Ropewalk", 19, "Buddleia corner", 22),
    Plot(
        "Fen Drove", 15, "Chapel shelter belt", 130, fenced=True, animals_beside=(Animals.GRAZING,)
    ),
    # Food plants: from lawns with no treatment on record, or one whose long wait is over.
    Plot("Larkspur Road", 21, "Vegetable beds", 20, edible=True),
    Plot("Church Walk", 38, "Soft fruit", 24, edible=True, sensitive_plants="Raspberries."),
    # Beds with an account: what came before counts.
    Plot("Mill Dyke", 19, "Island bed", 30, early=True),
    Plot("Priory Close", 7, "Rhododendrons", 95, early=True),
    Plot("Saltergate", 20, "Viburnum border", 34, mass_per_visit_max_kg=30, early=True),
    # Refused, each for its own reason.
    Plot("Beck Side", 3, "Low border", 26, ground_state=GroundState.WATERLOGGED),
    Plot("Fen Drove", 4, "Clay bed", 40, drainage=Drainage.POOR),
    Plot(
        "Mill Dyke",
        5,
        "Lawn edge",
        18,
        drainage=Drainage.MODERATE,
        ground_state=GroundState.SOFT,
    ),
    Plot("Beck Side", 24, "Stream border", 22, water_distance_m=14),
    Plot("Church Walk", 16, "Well garden", 19, well_distance_m=12),
    Plot("Halfpenny Row", 32, "Back hedge", 17, water_distance_m=None),
    Plot("Halfpenny Row", 4, "Sloping rockery", 12, slope_percent=35),
    Plot("Priory Close", 30, "Greens, hedge", 90, consent=ConsentState.WITHDRAWN),
    Plot("Orchard Lane", 15, "Bay tree", 8, consent_ends=timedelta(days=-9)),
    Plot("Green End", 11, "Mixed border", 35, legal_basis_ends=timedelta(days=-30)),
    Plot("Ropewalk", 26, "Long bed", 29, legal_basis=LegalBasisKind.NOT_ESTABLISHED),
    Plot("Fen Drove", 9, "Cut flowers", 50, organic_certified=True),
)
