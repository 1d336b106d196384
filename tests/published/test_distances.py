"""The bulk distance against geopy's geodesic and against printed distances."""

import pytest
from geopy.distance import geodesic
from hypothesis import given
from hypothesis import strategies as st

from service.core.places import Point
from service.gateways.distances import GeodesicDistances, geodesic_matrix_m

latitudes = st.floats(-65, 65)
longitudes = st.floats(-179, 179)
steps = st.floats(-0.6, 0.6)


@given(latitude=latitudes, longitude=longitudes, north=steps, east=steps)
def test_within_a_days_drive_the_bulk_distance_is_geopys_geodesic_to_a_metre(
    latitude: float, longitude: float, north: float, east: float
) -> None:
    here = Point(latitude=latitude, longitude=longitude)
    there = Point(latitude=latitude + north, longitude=longitude + east)
    reference_m = geodesic(
        (here.latitude, here.longitude), (there.latitude, there.longitude)
    ).meters
    assert geodesic_matrix_m([here, there])[0, 1] == pytest.approx(reference_m, abs=1.0)


def test_flinders_peak_to_buninyong_is_the_published_line() -> None:
    # Geoscience Australia / ICSM, GDA Technical Manual, worked example of Vincenty's
    # formulae: Flinders Peak (-37 57 03.72030, 144 25 29.52440) to Buninyong
    # (-37 39 10.15610, 143 55 35.38390): 54 972.271 m on GRS80, which differs from
    # WGS 84 by a tenth of a millimetre in the semi-minor axis. From memory of the
    # manual; geopy's geodesic agrees to the printed millimetre.
    flinders = Point(
        latitude=-(37 + 57 / 60 + 3.72030 / 3600), longitude=144 + 25 / 60 + 29.52440 / 3600
    )
    buninyong = Point(
        latitude=-(37 + 39 / 60 + 10.15610 / 3600), longitude=143 + 55 / 60 + 35.38390 / 3600
    )
    assert geodesic_matrix_m([flinders, buninyong])[0, 1] == pytest.approx(54972.271, abs=0.1)
    assert geodesic(
        (flinders.latitude, flinders.longitude), (buninyong.latitude, buninyong.longitude)
    ).meters == pytest.approx(54972.271, abs=0.0005)


def test_the_matrix_is_symmetric_with_an_empty_diagonal_and_whole_numbers() -> None:
    points = [Point(latitude=51.4 + i / 50, longitude=-2.6 + i / 40) for i in range(5)]
    travel = GeodesicDistances(detour_factor=1.3, speed_km_per_h=30, sources=()).matrix(points)
    assert (travel.distance_m == travel.distance_m.T).all()
    assert travel.distance_m.diagonal().tolist() == [0] * 5
    assert travel.duration_s.dtype.kind == "i"
