"""The invented firm is as large and as varied as a demo must be."""

from itertools import combinations

import pytest
from geopy.distance import geodesic

from service.core.materials import TreatmentHistory
from service.core.permission.consent import ConsentState
from service.core.permission.legal_basis import LegalBasisKind
from service.core.places import Drainage, GroundState
from service.demo.story import (
    DEPOT,
    FORGOTTEN,
    GATES,
    LITTERED_YESTERDAY,
    PAST_ROUNDS,
    PLOTS,
    ROUNDS,
    STREETS,
    TRUCKS,
    house_point,
    point_at,
    visit_at,
)
from service.rules.lookup import Rulebook

VISITS = [visit for round_ in ROUNDS.values() for visit in round_]


def test_there_are_enough_crews_jobs_beds_and_sites():
    assert len(ROUNDS) >= 6
    assert len(VISITS) >= 60
    assert len(PLOTS) >= 40
    assert len(GATES) == 4
    assert DEPOT.hold_bay_m3 > 0


def test_every_crew_of_a_round_has_a_truck_and_every_truck_a_round():
    assert {truck.crew for truck in TRUCKS} == set(ROUNDS)


def test_no_house_is_visited_twice_and_no_bed_lacks_a_lawn():
    houses = [visit.house for visit in VISITS]
    assert len(set(houses)) == len(houses)
    assert FORGOTTEN.house not in houses
    assert {plot.house for plot in PLOTS} <= set(houses)
    assert len({plot.house for plot in PLOTS}) == len(PLOTS)


def test_the_past_happened_at_places_of_the_story():
    past = [house for _, _, houses in PAST_ROUNDS for house in houses]
    assert all(visit_at(house) for house in (*past, LITTERED_YESTERDAY))


def test_all_places_lie_within_a_working_day_of_each_other():
    points = [house_point(*visit.house) for visit in VISITS]
    points += [point_at(east_m=gate.east_m, north_m=gate.north_m) for gate in GATES]
    spread_km = max(
        geodesic((a.latitude, a.longitude), (b.latitude, b.longitude)).km
        for a, b in combinations([*points, DEPOT.point], 2)
    )
    assert spread_km < 12


def test_metres_on_the_towns_plane_are_metres_on_the_ellipsoid():
    there = point_at(east_m=3000, north_m=4000)
    metres = geodesic((DEPOT.latitude, DEPOT.longitude), (there.latitude, there.longitude)).m
    assert metres == pytest.approx(5000, rel=2e-3)


def test_every_kind_of_lot_is_there():
    assert sum(visit.weeds_in_seed for visit in VISITS) >= 2
    assert sum(visit.disease_seen for visit in VISITS) >= 2
    assert sum(visit.litter_seen for visit in VISITS) >= 2
    assert sum(visit.treatment_history is TreatmentHistory.UNKNOWN for visit in VISITS) >= 2
    assert any(visit.left for visit in VISITS)


def test_the_treatments_name_known_ingredients_and_one_names_none():
    treatments = Rulebook.load().treatments
    sprayed = [visit.sprayed for visit in VISITS if visit.sprayed]
    named = {name for item in sprayed for name in item.active_ingredients}
    assert len(named) >= 5
    assert all(treatments.substance_of(name) is not None for name in named)
    assert any(not item.active_ingredients for item in sprayed)
    assert any(item.label_wait and item.label_wait.leave_on_lawn for item in sprayed)


def test_every_way_for_a_bed_to_be_refused_is_there():
    def some(holds):
        return any(holds(plot) for plot in PLOTS)

    assert some(lambda plot: plot.ground_state is GroundState.WATERLOGGED)
    assert some(lambda plot: plot.drainage is Drainage.POOR)
    assert some(lambda plot: plot.consent is ConsentState.WITHDRAWN)
    assert some(lambda plot: plot.consent_ends_in_days < 0)
    assert some(lambda plot: plot.legal_basis is LegalBasisKind.NOT_ESTABLISHED)
    assert some(lambda plot: plot.legal_basis_ends_in_days < 0)
    assert some(lambda plot: plot.legal_basis is LegalBasisKind.GROWN_ON_SAME_PROPERTY)
    assert some(lambda plot: plot.water_distance_m is None)
    assert some(lambda plot: plot.water_distance_m is not None and plot.water_distance_m < 50)
    assert some(lambda plot: plot.edible)
    assert some(lambda plot: plot.early)


def test_telephones_are_those_kept_for_stories():
    # Ofcom, "Telephone numbers for use in TV and radio drama programmes": 07700 900000 to 900999.
    assert all(truck.phone.startswith("07700 900") for truck in TRUCKS)
    assert len({truck.phone for truck in TRUCKS}) == len(TRUCKS)


def test_a_payload_is_what_gross_limit_and_tare_leave():
    assert all(truck.payload_kg <= truck.gross_limit_kg - truck.tare_kg for truck in TRUCKS)


def test_every_street_is_used_and_named_once():
    assert {visit.street for visit in VISITS} == set(STREETS)
