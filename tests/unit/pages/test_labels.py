"""Letters and names of a map stand on nothing that they would hide."""

import math

from hypothesis import given
from hypothesis import strategies as st

from service.pages.day.labels import Box, Spot, names_placed, tags_placed

FRAME = (1000.0, 600.0)
RADIUS = 17.0
points = st.tuples(st.floats(45, 955), st.floats(45, 555))
spots = st.lists(points, min_size=1, max_size=26)


def spots_at(found):
    return [Spot(text=chr(65 + number), at=at) for number, at in enumerate(found)]


@given(spots)
def test_no_letter_stands_on_another_on_its_own_mark_or_off_the_drawing(found):
    tags = tags_placed(spots_at(found), radius=RADIUS, frame=FRAME)
    assert [tag.text for tag in tags] == [spot.text for spot in spots_at(found)]
    for number, tag in enumerate(tags):
        assert RADIUS <= tag.at[0] <= FRAME[0] - RADIUS
        assert RADIUS <= tag.at[1] <= FRAME[1] - RADIUS
        assert math.dist(tag.at, tag.mark) >= RADIUS
        for other in tags[:number]:
            assert math.dist(tag.at, other.at) >= 2 * RADIUS - 1e-9


def test_twenty_vehicles_in_one_yard_are_told_apart_and_each_has_a_thread_to_it():
    tags = tags_placed(spots_at([(500.0, 300.0)] * 20), radius=RADIUS, frame=FRAME)
    assert all(
        math.dist(one.at, other.at) >= 2 * RADIUS - 1e-9
        for number, one in enumerate(tags)
        for other in tags[:number]
    )
    assert all(tag.has_thread for tag in tags if math.dist(tag.at, tag.mark) > 4 * RADIUS)


@given(points, points)
def test_a_letter_stands_beside_its_own_way(at, end):
    way = (at, end)
    (tag,) = tags_placed([Spot(text="A", at=at, way=way)], radius=RADIUS, frame=FRAME)
    steps = [
        tuple(one + (other - one) * part / 50 for one, other in zip(*way, strict=True))
        for part in range(51)
    ]
    assert min(math.dist(tag.at, step) for step in steps) >= RADIUS - 1e-6


@given(spots, st.lists(st.tuples(points, st.text("abc ", min_size=1, max_size=25)), max_size=6))
def test_no_name_stands_on_another_and_no_letter_on_a_name(found, named):
    names = names_placed([(text, at) for at, text in named], size=22, frame=FRAME)
    for number, name in enumerate(names):
        assert name.box.is_within(*FRAME)
        assert not any(name.box.meets(other.box) for other in names[:number])
    boxes = [name.box for name in names]
    for tag in tags_placed(spots_at(found), radius=RADIUS, frame=FRAME, taken=boxes):
        assert not any(box.reaches(tag.at, RADIUS - 1e-9) for box in boxes)


def test_a_name_that_finds_no_room_is_left_out_rather_than_written_over_another():
    filled = [Box(left=0, top=0, right=1000, bottom=600)]
    assert names_placed([("The yard", (500.0, 300.0))], size=22, frame=FRAME, taken=filled) == []
