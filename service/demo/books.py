"""Keep the invented firm's books: its own things, the compost sites, and its clients' places."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from service.api.application import UseCases
from service.core.callers.access import Caller
from service.core.crews import Crew, Vehicle
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent
from service.core.permission.legal_basis import Exemption, GroundKind, LegalBasis, LegalBasisKind
from service.core.places import Bed, Client, CompostSite, Depot, Lawn, Property
from service.demo.clock import DemoClock
from service.demo.story import (
    DEPOT,
    FIRM,
    GATES,
    LANGUAGES,
    PLOTS,
    ROUNDS,
    STREETS,
    TRUCKS,
    Gate,
    House,
    Plot,
    Visit,
    house_address,
    house_point,
    point_at,
    visit_at,
)


@dataclass(slots=True, kw_only=True)
class Books:
    """The firm's records by the names the story has for them."""

    use_cases: UseCases
    clock: DemoClock
    caller: Caller
    noon: datetime
    depot: Depot
    crews: dict[str, Crew] = field(default_factory=dict)
    vehicles: dict[str, Vehicle] = field(default_factory=dict)
    clients: dict[str, Client] = field(default_factory=dict)
    properties: dict[House, Property] = field(default_factory=dict)
    lawns: dict[House, Lawn] = field(default_factory=dict)
    beds: dict[House, Bed] = field(default_factory=dict)
    sites: dict[str, CompostSite] = field(default_factory=dict)

    def at(self, clock: time, *, days_ago: int = 0) -> datetime:
        """Return the moment of a clock time at the depot, some days ago."""
        day = self.noon.date() - timedelta(days=days_ago)
        return datetime.combine(day, clock, tzinfo=ZoneInfo(DEPOT.time_zone))

    def client_of(self, bed_id: UUID) -> Client:
        """Return whose bed it is."""
        house = next(house for house, bed in self.beds.items() if bed.id == bed_id)
        return self.clients[visit_at(house).client]

    # -- the firm's own things ------------------------------------------------------------

    def keep_crews(self) -> None:
        """Keep every crew and what it drives."""
        library = self.use_cases.library
        for truck in TRUCKS:
            vehicle = library.vehicles.create(
                self.caller,
                {
                    "depot_id": self.depot.id,
                    "registration": truck.registration,
                    "name": truck.vehicle,
                    "payload_kg": truck.payload_kg,
                    "body_volume_m3": truck.body_volume_m3,
                    "gross_limit_kg": truck.gross_limit_kg,
                    "tare_kg": truck.tare_kg,
                },
            )
            self.vehicles[truck.crew] = vehicle
            self.crews[truck.crew] = library.crews.create(
                self.caller,
                {
                    "depot_id": self.depot.id,
                    "name": truck.crew,
                    "lead": truck.lead,
                    "phone": truck.phone,
                    "vehicle_id": vehicle.id,
                    "language": truck.language,
                },
            )

    def keep_hold_bay(self) -> None:
        """Keep the bay of the yard."""
        self.use_cases.library.hold_bays.create(
            self.caller,
            {
                "depot_id": self.depot.id,
                "name": "Bay by the weigh shed",
                "volume_m3": DEPOT.hold_bay_m3,
                "leachate_contained": True,
            },
        )

    def keep_site(self, gate: Gate) -> None:
        """Keep a compost site."""
        temperature_c, days, turnings = gate.process or (None, None, None)
        self.sites[gate.name] = self.use_cases.library.compost_sites.create(
            self.caller,
            {
                "name": gate.name,
                "operator": gate.operator,
                "address": gate.address,
                "point": point_at(east_m=gate.east_m, north_m=gate.north_m),
                "time_zone": DEPOT.time_zone,
                "jurisdiction": DEPOT.jurisdiction,
                "accepted_statuses": gate.accepted_statuses,
                "takes_sour": gate.takes_sour,
                "hours": gate.hours(),
                "daily_capacity_kg": float(gate.daily_capacity_kg),
                "fee": gate.fee,
                "process_temperature_c": temperature_c,
                "process_days": days,
                "process_turnings": None if turnings is None else int(turnings),
                "kill_evidence": gate.kill_evidence,
            },
        )

    # -- clients and their places ---------------------------------------------------------

    def keep_lawn(self, visit: Visit) -> Lawn:
        """Keep the lawn of a visit, its property and its client, and return it."""
        found = self.lawns.get(visit.house)
        if found is None:
            place = self._property(visit)
            found = self.use_cases.library.lawns.create(
                self.caller,
                {
                    "property_id": place.id,
                    "name": "Lawn" if visit.name is None else visit.name,
                    "area": Measure(value=float(visit.area), unit=visit.unit),
                    "grass_kind": visit.grass_kind,
                },
            )
            self.lawns[visit.house] = found
        return found

    def _property(self, visit: Visit) -> Property:
        client = self.clients.get(visit.client)
        if client is None:
            client = self.use_cases.library.clients.create(
                self.caller,
                {
                    "name": visit.client,
                    "phone": f"01632 960{500 + len(self.clients):03d}",
                    "language": LANGUAGES.get(visit.client, "en"),
                },
            )
            self.clients[visit.client] = client
        street, number = visit.house
        self.properties[visit.house] = self.use_cases.library.properties.create(
            self.caller,
            {
                "client_id": client.id,
                "name": visit.name or f"{number} {street}",
                "address": house_address(street, number),
                "locality": STREETS[street].locality,
                "point": house_point(street, number),
            },
        )
        return self.properties[visit.house]

    def keep_bed(self, plot: Plot) -> None:
        """Keep a bed; its property is known by the lawn that is mown there."""
        self.keep_lawn(visit_at(plot.house))
        self.beds[plot.house] = self.use_cases.library.beds.create(
            self.caller,
            {
                "property_id": self.properties[plot.house].id,
                "name": plot.name,
                "area": Measure(value=float(plot.area_m2), unit="m2"),
                "drainage": plot.drainage,
                "ground_state": plot.ground_state,
                "ground_state_at": self.clock.now(),
                "edible": plot.edible,
                "organic_certified": plot.organic_certified,
                "water_distance_m": plot.water_distance_m,
                "well_distance_m": plot.well_distance_m,
                "animals": plot.animals,
                "animals_beside": plot.animals_beside,
                "grazing_fenced": plot.fenced,
                "ground_kind": GroundKind.PRIVATE_GARDEN,
                "slope_percent": float(plot.slope_percent),
                "sensitive_plants": plot.sensitive_plants,
                "where_to_lay": plot.where_to_lay,
                "consent": self._consent(plot),
                "legal_basis": self._legal_basis(plot),
            },
        )

    def _consent(self, plot: Plot) -> Consent:
        return Consent(
            state=plot.consent,
            given_on=self.noon.date() - timedelta(days=90),
            expires_on=self.noon.date() + timedelta(days=plot.consent_ends_in_days),
            mass_per_visit_max_kg=plot.mass_per_visit_max_kg,
        )

    def _legal_basis(self, plot: Plot) -> LegalBasis:
        if plot.legal_basis is LegalBasisKind.NOT_ESTABLISHED:
            return LegalBasis()
        own = plot.legal_basis is LegalBasisKind.GROWN_ON_SAME_PROPERTY
        exemption = Exemption.U13 if own else Exemption.U12
        return LegalBasis(
            kind=plot.legal_basis,
            exemption=exemption,
            reference=f"{exemption.value.upper()} exemption, invented no. {1000 + len(self.beds)}",
            expires_on=self.noon.date() + timedelta(days=plot.legal_basis_ends_in_days),
        )


def open_books(use_cases: UseCases, *, clock: DemoClock, caller: Caller, noon: datetime) -> Books:
    """Keep the depot, and return the books it opens."""
    depot = use_cases.library.depots.create(
        caller,
        {
            "name": DEPOT.name,
            "address": FIRM.address,
            "point": DEPOT.point,
            "time_zone": DEPOT.time_zone,
            "jurisdiction": DEPOT.jurisdiction,
            "shift_starts": DEPOT.shift_starts,
            "shift_ends": DEPOT.shift_ends,
        },
    )
    return Books(
        use_cases=use_cases,
        clock=clock,
        caller=caller,
        noon=noon,
        depot=depot,
    )


def keep_early(books: Books) -> None:
    """Keep what was there first: the crews, and the beds that took clippings before the day."""
    books.keep_crews()
    for plot in PLOTS:
        if plot.early:
            books.keep_bed(plot)


def keep_rest(books: Books) -> None:
    """Keep the compost sites, the other beds and the other lawns."""
    for gate in GATES:
        books.keep_site(gate)
    for plot in PLOTS:
        if not plot.early:
            books.keep_bed(plot)
    for round_ in ROUNDS.values():
        for visit in round_:
            books.keep_lawn(visit)
