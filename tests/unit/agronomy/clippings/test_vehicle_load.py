import pytest

from service.agronomy.clippings.vehicle_load import (
    Aboard,
    Room,
    VehicleLimitMissing,
    VehicleLimits,
    VehicleOverloaded,
    check_load,
    payload_kg,
    room_left,
)

VAN = VehicleLimits(body_volume_m3=4.0, gross_limit_kg=3500, tare_kg=2400)
EMPTY = Aboard(mass_high_kg=0, volume_high_m3=0)


def room(aboard: Aboard = EMPTY, bag_litres: float | None = None, heavy: float = 890) -> Room:
    return room_left(
        VAN,
        aboard,
        density_high_kg_per_m3=heavy,
        density_low_kg_per_m3=148,
        bag_litres=bag_litres,
    )


def test_wet_grass_fills_the_payload_long_before_the_body() -> None:
    # 1,100 kg at 890 kg/m3 is 1.2 m3 of a body of 4.
    left = room()
    assert left.binding == "payload"
    assert left.volume_litres == pytest.approx(1100 / 890 * 1000)


def test_dry_grass_fills_the_body_before_the_payload() -> None:
    left = room(heavy=200)
    assert left.binding == "body_volume"
    assert left.volume_litres == pytest.approx(4000)
    assert left.mass_kg == pytest.approx(4 * 148)


def test_room_comes_in_whole_bags_rounded_down() -> None:
    assert room(bag_litres=60).bags == 20
    assert room().bags is None


def test_a_full_vehicle_has_no_room_and_not_less_than_none() -> None:
    left = room(Aboard(mass_high_kg=1500, volume_high_m3=5), bag_litres=60)
    assert (left.mass_kg, left.volume_litres, left.bags) == (0, 0, 0)


def test_the_smaller_of_payload_and_plate_counts() -> None:
    limits = VehicleLimits(body_volume_m3=4, payload_kg=1500, gross_limit_kg=3500, tare_kg=2400)
    assert payload_kg(limits) == 1100
    assert payload_kg(VehicleLimits(body_volume_m3=4, payload_kg=900)) == 900


def test_a_vehicle_without_limits_is_refused() -> None:
    with pytest.raises(VehicleLimitMissing):
        payload_kg(VehicleLimits(body_volume_m3=4, tare_kg=2400))


def test_an_overload_is_refused_with_its_figures() -> None:
    with pytest.raises(VehicleOverloaded, match=r"1705 kg against 1100 kg allowed, 55 % over"):
        check_load(VAN, Aboard(mass_high_kg=1705, volume_high_m3=3))


def test_a_load_over_the_sides_is_refused() -> None:
    with pytest.raises(VehicleOverloaded, match="body volume"):
        check_load(VAN, Aboard(mass_high_kg=500, volume_high_m3=4.2))


def test_a_load_to_the_limit_is_taken() -> None:
    check_load(VAN, Aboard(mass_high_kg=1100, volume_high_m3=4.0))
