"""The layers of a bed as a small drawing to scale: soil, a stem, the gap round it, the layers."""

from dataclasses import dataclass
from enum import StrEnum
from html import escape
from typing import Final

from service.documents.facts.bed import DryMaterial, Guidance


class Kind(StrEnum):
    """What a layer of the drawing is made of."""

    CLIPPINGS = "clippings"
    DRY = "dry"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLayer:
    """A layer, from the soil up: what it is, and its depth [mm] in the bed."""

    kind: Kind
    material: DryMaterial | None
    depth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """What is drawn: the layers from the soil up, and the bare ring round a stem [mm]."""

    layers: tuple[DrawnLayer, ...]
    stem_gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnWords:
    """The words of the drawing, in one language.

    Parameters
    ----------
    layers
        One label for each layer, from the soil up.
    stem_gap
        The distance kept from stems.
    """

    layers: tuple[str, ...]
    stem_gap: str


# Scales a draughtsman would pick: life size if it fits, else a half, a fifth, and so on.
_SCALES: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
_SOIL_MM: Final = 5.0
_STEM_X_MM: Final = 5.0
_STEM_WIDTH_MM: Final = 3.0
_ROOM_FOR_LAYERS_MM: Final = 38.0
_STEM_HEIGHT_MM: Final = 18.0
_TALLEST_STACK_MM: Final = 22.0
# A gap narrower than its label has the label begin at the stem [mm].
_NARROW_GAP_MM: Final = 26.0
_LETTER_MM: Final = 3.5
_INK: Final = "#14201a"
_FILL: Final = {Kind.CLIPPINGS: "#bfe0a2", Kind.DRY: "#ead2a0"}
_BLADE: Final = {Kind.CLIPPINGS: "#4f8a2c", Kind.DRY: "#a4772b"}


def draw(guidance: Guidance) -> Drawing:
    """Return the drawing of one visit: dry base, one layer of clippings, dry cover."""
    layers: list[DrawnLayer] = []
    if guidance.base is not None:
        layers.append(_dry(guidance.base.material, guidance.base.depth_mm))
    layers.append(DrawnLayer(kind=Kind.CLIPPINGS, material=None, depth_mm=guidance.depth_mm))
    if guidance.cover is not None:
        layers.append(_dry(guidance.cover.material, guidance.cover.depth_mm))
    return Drawing(layers=tuple(layers), stem_gap_mm=guidance.keep_off.stems_mm)


def _dry(material: DryMaterial, depth_mm: float) -> DrawnLayer:
    return DrawnLayer(kind=Kind.DRY, material=material, depth_mm=depth_mm)


def scale_of(drawing: Drawing, *, width_mm: float) -> int:
    """Return how many times smaller than life the drawing is: 1, 2, 5, 10 ... 1000.

    Parameters
    ----------
    drawing
        What is drawn.
    width_mm
        Width there is for it [mm].
    """
    depth_mm = sum(layer.depth_mm for layer in drawing.layers)
    room_mm = width_mm - _STEM_X_MM - _STEM_WIDTH_MM - _ROOM_FOR_LAYERS_MM
    for scale in _SCALES:
        if depth_mm / scale <= _TALLEST_STACK_MM and drawing.stem_gap_mm / scale <= room_mm:
            return scale
    return _SCALES[-1]


def layers_svg(
    drawing: Drawing, *, words: DrawnWords, width_mm: float, font: str, in_page: bool
) -> str:
    """Return the drawing as an SVG element whose user unit is one millimetre.

    Parameters
    ----------
    drawing
        What is drawn.
    words
        Labels in the reader's language; escaped here.
    width_mm
        Width of the drawing [mm].
    font
        Font family of the labels.
    in_page
        Whether it stands inside an HTML page, which needs no namespace.
    """
    scale = scale_of(drawing, width_mm=width_mm)
    depths_mm = [layer.depth_mm / scale for layer in drawing.layers]
    ground_mm = max(_STEM_HEIGHT_MM, sum(depths_mm) + 2)
    height_mm = ground_mm + _SOIL_MM
    gap_end_mm = _STEM_X_MM + _STEM_WIDTH_MM + drawing.stem_gap_mm / scale
    parts = [*_soil(width_mm, ground_mm), *_stem(ground_mm)]
    top_mm = ground_mm - sum(depths_mm)
    labels: list[str] = []
    tier = 0
    # From the top down, so that labels beside thin layers stand in the layers' order.
    for layer, depth_mm, label in reversed(
        list(zip(drawing.layers, depths_mm, words.layers, strict=True))
    ):
        parts += _layer(layer.kind, left=gap_end_mm, right=width_mm, top=top_mm, depth=depth_mm)
        middle_mm = top_mm + depth_mm / 2
        if depth_mm >= _LETTER_MM + 1:
            baseline_mm = middle_mm + _LETTER_MM * 0.36
            labels.append(_text(label, x=width_mm - 3, y=baseline_mm, anchor="end"))
        else:
            labels += _leader(label, tier=tier, right=width_mm, y=middle_mm)
            tier += 1
        top_mm += depth_mm
    stem_mm = _STEM_X_MM + _STEM_WIDTH_MM
    labels += _gap(words.stem_gap, left=stem_mm, right=gap_end_mm, y=ground_mm)
    opening = '<svg aria-hidden="true"' if in_page else '<svg xmlns="http://www.w3.org/2000/svg"'
    return (
        f'{opening} viewBox="0 0 {_n(width_mm)} {_n(height_mm)}"'
        f' font-family="{escape(font)}" font-size="{_LETTER_MM}" font-weight="600" fill="{_INK}">'
        + "".join(parts + labels)
        + "</svg>"
    )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _scatter(index: int, salt: int) -> float:
    """Return a number in [0, 1) that looks thrown and is the same every time."""
    mixed = (index * 374_761_393 + salt * 668_265_263) & 0xFFFF_FFFF
    mixed = ((mixed ^ (mixed >> 13)) * 1_274_126_177) & 0xFFFF_FFFF
    return ((mixed ^ (mixed >> 16)) & 0xFFFF_FFFF) / 2**32


def _soil(width: float, ground: float) -> list[str]:
    parts = [
        f'<rect x="0" y="{_n(ground)}" width="{_n(width)}" height="{_n(_SOIL_MM)}" fill="#8a6a4f"/>'
    ]
    parts += [
        f'<circle cx="{_n(width * _scatter(i, 1))}" cy="{_n(ground + 0.8 + 3.6 * _scatter(i, 2))}"'
        f' r="{_n(0.25 + 0.35 * _scatter(i, 3))}" fill="#5d4532"/>'
        for i in range(int(width * 0.8))
    ]
    return parts


def _stem(ground: float) -> list[str]:
    left, right = _STEM_X_MM, _STEM_X_MM + _STEM_WIDTH_MM
    middle = (left + right) / 2
    return [
        f'<path d="M{_n(left)} {_n(ground + 2)}V1H{_n(right)}V{_n(ground + 2)}Z" fill="#3f6b45"/>',
        _leaf(middle, 7, right=True),
        _leaf(middle, 12, right=False),
    ]


def _leaf(x: float, y: float, *, right: bool) -> str:
    side = 1 if right else -1
    tip = x + side * (9 if right else 4.5)
    path = (
        f"M{_n(x)} {_n(y)}Q{_n(x + side * 3)} {_n(y - 5)} {_n(tip)} {_n(y - 4)}"
        f"Q{_n(tip - side * 2)} {_n(y + 1)} {_n(x)} {_n(y)}Z"
    )
    return f'<path d="{path}" fill="#5f9363"/>'


def _layer(kind: Kind, *, left: float, right: float, top: float, depth: float) -> list[str]:
    bottom = top + depth
    outline = (
        f"M{_n(left)} {_n(bottom)}Q{_n(left + 0.6)} {_n(top)} {_n(left + 2)} {_n(top)}"
        f"H{_n(right)}V{_n(bottom)}Z"
    )
    parts = [f'<path d="{outline}" fill="{_FILL[kind]}"/>']
    blades = []
    for i in range(int((right - left) * max(depth, 1.5) * 0.22)):
        x = left + 2.5 + (right - left - 5) * _scatter(i, 5)
        y = top + 0.4 + max(depth - 0.8, 0.1) * _scatter(i, 6)
        dx, dy = 2.4 * _scatter(i, 7) - 1.2, 1.2 * _scatter(i, 8) - 0.6
        dy = min(max(dy, top + 0.2 - y), bottom - 0.2 - y)
        blades.append(f"M{_n(x)} {_n(y)}l{_n(dx)} {_n(dy)}")
    parts.append(
        f'<path d="{"".join(blades)}" stroke="{_BLADE[kind]}" stroke-width="0.3"'
        ' stroke-linecap="round" fill="none"/>'
    )
    return parts


def _text(text: str, *, x: float, y: float, anchor: str) -> str:
    # The pale rim keeps letters readable over blades of grass.
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}" paint-order="stroke"'
        f' stroke="#ffffff" stroke-width="1.1" stroke-linejoin="round">{escape(text)}</text>'
    )


def _leader(label: str, *, tier: int, right: float, y: float) -> list[str]:
    x = right - 4 - 5 * tier
    text_y = 3.2 + (_LETTER_MM + 0.8) * tier
    return [
        f'<path d="M{_n(x)} {_n(y)}V{_n(text_y + 0.8)}" stroke="{_INK}" stroke-width="0.3"/>',
        f'<circle cx="{_n(x)}" cy="{_n(y)}" r="0.7"/>',
        _text(label, x=x - 1, y=text_y, anchor="end"),
    ]


def _gap(label: str, *, left: float, right: float, y: float) -> list[str]:
    y -= 3
    narrow = right - left < _NARROW_GAP_MM
    x, anchor = (left + 1, "start") if narrow else ((left + right) / 2, "middle")
    left += 0.5
    right -= 0.5
    arrow = (
        f"M{_n(left)} {_n(y)}H{_n(right)}"
        f"M{_n(left + 1.5)} {_n(y - 1)}L{_n(left)} {_n(y)}L{_n(left + 1.5)} {_n(y + 1)}"
        f"M{_n(right - 1.5)} {_n(y - 1)}L{_n(right)} {_n(y)}L{_n(right - 1.5)} {_n(y + 1)}"
    )
    return [
        f'<path d="{arrow}" stroke="{_INK}" stroke-width="0.4" fill="none"/>',
        _text(label, x=x, y=y - 1.6, anchor=anchor),
    ]
