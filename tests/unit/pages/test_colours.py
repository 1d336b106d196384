"""Every colour that is read is read in the sun: by the contrast of WCAG 2.2, 1.4.6 and 1.4.11."""

import re

import pytest

from service.pages.rendering import asset_bytes

READ = [
    (ink, ground)
    for ground in ("paper", "wash", "care-wash", "stop-wash")
    for ink in ("ink", "quiet", "green", "link")
] + [("on-green", "green"), ("care", "care-wash"), ("stop", "stop-wash"), ("stop", "paper")]
SCHEMES = re.findall(r":root \{(.*?)\}", asset_bytes("screens.css").decode(), re.DOTALL)[:2]


def luminance(colour):
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    dark, light = sorted(map(luminance, (one, other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("scheme", SCHEMES, ids=["light", "dark"])
def test_what_is_read_stands_out_seven_to_one_and_edges_three_to_one(scheme):
    colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", scheme))
    faint = {
        (ink, ground): round(contrast(colours[ink], colours[ground]), 2)
        for ink, ground in READ
        if contrast(colours[ink], colours[ground]) < 7.0
    }
    assert faint == {}
    assert contrast(colours["line"], colours["paper"]) >= 3.0


def test_black_on_white_is_the_most_there_is():
    # WCAG 2.2, definition of contrast ratio: from 1 to 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
