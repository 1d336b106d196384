"""The exponent of growth, and that its drawing holds what it is drawn from."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from tests.bench.planning.growth import HEIGHT, WIDTH, exponent, figure

SQUARE = [(10, 0.01), (100, 1.0), (1000, 100.0)]
FLAT = [(10, 0.5), (100, 0.5), (1000, 0.5)]


def test_the_exponent_of_a_power_is_found_and_of_one_number_of_jobs_there_is_none():
    assert exponent(SQUARE) == pytest.approx(2.0)
    assert exponent(FLAT) == pytest.approx(0.0)
    assert exponent([(20, 0.1), (20, 0.2)]) is None
    assert exponent([]) is None


@pytest.mark.parametrize("found", [SQUARE, FLAT, SQUARE[:1], [(20, 0.0), (20, 0.0)]])
def test_every_point_is_on_the_paper_and_the_axes_say_what_they_are_of(found):
    text = figure({"first plan": found, "whole search": SQUARE})
    drawing = ElementTree.fromstring(text)  # noqa: S314 - drawn a line above
    marks = [
        (float(one.get("cx", one.get("x", 0))), float(one.get("cy", one.get("y", 0))))
        for one in drawing.iter()
        if (one.tag.endswith(("circle", "rect")) and one.get("fill") != "white") or one.get("r")
    ]
    assert len(marks) == len(found) + len(SQUARE) + 2  # and one of each in the legend
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in marks)
    words = " ".join("".join(one.itertext()) for one in drawing.iter() if one.tag.endswith("text"))
    assert "jobs of the day" in words
    assert "seconds of the processor" in words
    assert re.search(r"whole search: jobs to the power 2\.00", words)
