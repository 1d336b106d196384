import re

import pytest

from service.documents.composition.drawing import (
    Drawing,
    DrawnLayer,
    DrawnWords,
    Kind,
    layers_svg,
    scale_of,
)

WORDS = DrawnWords(layers=("clippings",), stem_gap="75 mm")


def clippings(depth_mm: float, *, gap_mm: float = 75) -> Drawing:
    layer = DrawnLayer(kind=Kind.CLIPPINGS, material=None, depth_mm=depth_mm)
    return Drawing(layers=(layer,), stem_gap_mm=gap_mm)


def drawn(drawing: Drawing, *, width_mm: float = 190) -> str:
    return layers_svg(drawing, words=WORDS, width_mm=width_mm, font="Test", in_page=False)


def depth_of(svg: str) -> float:
    """Read the depth of the clippings off the drawing: its outline from bottom to top."""
    outline = re.search(r'd="M[\d.]+ ([\d.]+)Q[\d.]+ ([\d.]+) [^"]*" fill="#bfe0a2"', svg)
    assert outline is not None
    bottom, top = (float(number) for number in outline.groups())
    return bottom - top


def test_a_layer_is_drawn_life_size_on_paper():
    assert scale_of(clippings(12.7), width_mm=190) == 1
    assert depth_of(drawn(clippings(12.7))) == pytest.approx(12.7, abs=0.011)


@pytest.mark.parametrize(("depth_mm", "scale"), [(22, 1), (23, 2), (45, 5), (111, 10)])
def test_a_deeper_stack_is_drawn_smaller_and_still_to_scale(depth_mm: float, scale: int):
    assert scale_of(clippings(depth_mm), width_mm=190) == scale
    assert depth_of(drawn(clippings(depth_mm))) == pytest.approx(depth_mm / scale, abs=0.011)


def test_the_gap_round_a_stem_has_the_scale_of_the_depth():
    svg = drawn(clippings(12.7), width_mm=92)
    assert scale_of(clippings(12.7), width_mm=92) == 2
    left = re.search(r'd="M([\d.]+) [\d.]+Q[^"]*" fill="#bfe0a2"', svg)
    assert left is not None
    # The stem ends 8 mm from the left edge; half of 75 mm follows.
    assert float(left.group(1)) == pytest.approx(8 + 37.5, abs=0.011)


def test_the_drawing_is_the_same_every_time():
    assert drawn(clippings(12.7)) == drawn(clippings(12.7))


def test_labels_are_escaped():
    words = DrawnWords(layers=("<b>&",), stem_gap="<i>")
    svg = layers_svg(clippings(12.7), words=words, width_mm=190, font='"x', in_page=True)
    assert "<b>" not in svg
    assert "<i>" not in svg
    assert "&lt;b&gt;&amp;" in svg


def test_inside_a_page_it_names_no_address():
    svg = layers_svg(clippings(12.7), words=WORDS, width_mm=92, font="x", in_page=True)
    assert "//" not in svg
