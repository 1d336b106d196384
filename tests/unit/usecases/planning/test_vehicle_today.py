"""What is left out of a vehicle's day where a bad connection carries no more."""

from service.usecases.planning.vehicle_today import LARGEST_BYTES, fitting

CAUTION = (
    "Fork from outside and never climb into a closed body: it can give off poisonous gas. " * 6
)


def test_what_keeps_people_from_harm_is_never_cut():
    stop = {"kind": "pick_up", "name": "QQ00 AAA", "caution": CAUTION, "access": "Ring. " * 900}
    told = fitting({"stops": [stop], "stops_after": 0, "changed": ["Moved. " * 200] * 4})
    assert told["stops"][0]["caution"] == CAUTION
    assert len(told["stops"][0]["access"]) < len(stop["access"])
    assert len(str(told)) < LARGEST_BYTES
