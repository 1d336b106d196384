"""What contradicts itself is refused; what is hardly so is asked before and after it is kept."""

from service.api.books import sites
from tests.journeys.setting_up.forms import send

LAWN = 'client,address,locality,point,area\nFar Away,1 Elm Street,Oxford,"{}",240\n'


def patch(client, path, **changes):
    headers = {"If-Match": client.get(path).headers["ETag"]}
    headers["Content-Type"] = "application/merge-patch+json"
    return client.patch(path, json=changes, headers=headers)


def yard_point(yard):
    lon, lat = yard.client.get(f"/depots/{yard.ids['depots']}").json["point"]["coordinates"]
    return lon, lat


def test_swapped_numbers_of_a_point_are_refused_over_http(yard):
    _, yard = yard
    lon, lat = yard_point(yard)
    for book in ("properties", "compost-sites", "beds"):
        path = f"/{book}/{yard.ids[book]}"
        refused = patch(yard.client, path, point={"type": "Point", "coordinates": [lat, lon]})
        assert refused.status_code == 422, book
        (fault,) = refused.json["errors"]
        assert fault["pointer"] == "/point"
        assert "the other way round" in fault["detail"]
        near = {"type": "Point", "coordinates": [lon + 0.01, lat + 0.01]}
        assert patch(yard.client, path, point=near).status_code == 200, book


def test_swapped_numbers_of_a_yard_are_refused_beside_what_its_crews_mow(yard):
    _, yard = yard
    lon, lat = yard_point(yard)
    swapped = {"type": "Point", "coordinates": [lat, lon]}
    refused = patch(yard.client, f"/depots/{yard.ids['depots']}", point=swapped)
    assert refused.status_code == 422
    (fault,) = refused.json["errors"]
    assert fault["pointer"] == "/point"
    assert "the other way round" in fault["detail"]
    depot = {**sites.DEPOTS.example, "name": "Second yard", "point": swapped}
    assert yard.client.post("/depots", json=depot).status_code == 422
    depot["point"] = {"type": "Point", "coordinates": [lon + 2, lat]}
    assert yard.client.post("/depots", json=depot).status_code == 201


def test_swapped_numbers_in_a_sheet_are_named_in_their_cell(yard, office):
    lon, lat = yard_point(yard[1])
    answer = send(office, "lawns/sheet", text=LAWN.format(f"{lon}, {lat}"), keep="1")
    assert answer.status_code == 422
    assert "the other way round" in answer.text
    assert "Far Away" not in office.get("/screens/setup/lawns").text


def test_a_place_far_from_every_yard_is_asked_about_and_kept(yard, office):
    lon, lat = yard_point(yard[1])
    text = LAWN.format(f"{lat - 4}, {lon}")
    tried = send(office, "lawns/sheet", text=text)
    assert tried.status_code == 200
    assert "It lies 445 km from the yard. Is it there?" in tried.text  # 4 x 111.2 km
    assert send(office, "lawns/sheet", text=text, keep="1").status_code == 303
    told = office.get("/screens/setup").text
    assert "1 lies more than 200 km from every yard, the farthest 445 km: 1 Elm Street" in told


def test_two_vehicles_of_one_registration_in_a_yard_are_told_where_vehicles_are(yard, office):
    client = yard[1].client
    (one,) = client.get("/vehicles").json["items"]
    plain = ("depot_id", "payload_kg", "body_volume_m3")
    twin = {name: one[name] for name in plain} | {"registration": one["registration"].lower()}
    assert client.post("/vehicles", json=twin).status_code == 201
    assert "is on record as 2 vehicles of one yard" in office.get("/screens/setup").text


def test_a_month_with_less_room_than_the_least_visit_is_refused(yard):
    _, yard = yard
    path = f"/beds/{yard.ids['beds']}"
    consent = {"state": "given", "mass_per_visit_min_kg": 500, "mass_per_month_max_kg": 100}
    refused = patch(yard.client, path, consent=consent)
    assert refused.status_code == 422
    assert refused.json["errors"][0]["pointer"] == "/consent/mass_per_month_max_kg"
    consent["mass_per_month_max_kg"] = 500
    assert patch(yard.client, path, consent=consent).status_code == 200


def test_a_tare_above_the_gross_limit_is_told_with_both_numbers(yard):
    _, yard = yard
    path = f"/vehicles/{yard.ids['vehicles']}"
    refused = patch(yard.client, path, tare_kg=3500, gross_limit_kg=2700)
    assert refused.status_code == 422
    (fault,) = refused.json["errors"]
    assert "The tare, 3500 kg, is not below the gross limit, 2700 kg" in fault["detail"]
