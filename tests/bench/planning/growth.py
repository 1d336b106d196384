"""How seconds grow with jobs: the exponent, and a drawing of it."""

from __future__ import annotations

import math

Points = list[tuple[int, float]]  # jobs, seconds

LEAST_S = 1e-3  # what takes less is drawn, and counted, as so much
WIDTH, HEIGHT = 560, 380
LEFT, RIGHT, TOP, BOTTOM = 78, 540, 58, 320
# Told apart in grey too: by the mark, the line and how dark they are.
STYLES = (("#1f9e6e", "6 4", "circle"), ("#1d2f6f", "none", "square"))


def exponent(points: Points) -> float | None:
    """Return the slope of seconds over jobs, both as logarithms, by least squares.

    None if all points are of one number of jobs.
    """
    line = _line(points)
    return None if line is None else line[1]


def _line(points: Points) -> tuple[float, float] | None:
    """Return the level and the slope of the straight line through logarithms."""
    if len({jobs for jobs, _ in points}) < 2:
        return None
    logs = [(math.log10(jobs), math.log10(max(seconds, LEAST_S))) for jobs, seconds in points]
    mean_x = sum(x for x, _ in logs) / len(logs)
    mean_y = sum(y for _, y in logs) / len(logs)
    over = sum((x - mean_x) * (y - mean_y) for x, y in logs)
    slope = over / sum((x - mean_x) ** 2 for x, _ in logs)
    return mean_y - slope * mean_x, slope


def figure(points: dict[str, Points]) -> str:
    """Return a drawing of seconds over jobs, both on logarithmic axes, as SVG.

    Parameters
    ----------
    points
        Jobs and seconds by what took them, two at most.
    """
    every = [pair for found in points.values() for pair in found]
    paper = _Paper(every)
    size = f'width="{WIDTH}" height="{HEIGHT}"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {WIDTH} {HEIGHT}">',
        '<g font-family="sans-serif" font-size="12">',
        f'<rect {size} fill="white"/>',
        *paper.axes(sorted({jobs for jobs, _ in every})),
    ]
    for number, (name, found) in enumerate(points.items()):
        lines += paper.drawn(number, name, found)
    return "\n".join([*lines, "</g></svg>"]) + "\n"


class _Paper:
    """Where points lie on the paper; seconds run over whole powers of ten."""

    def __init__(self, every: Points) -> None:
        jobs = [math.log10(jobs) for jobs, _ in every]
        seconds = [math.log10(max(seconds, LEAST_S)) for _, seconds in every]
        self.first, self.last = min(jobs) - 0.15, max(jobs) + 0.15
        self.low, self.high = math.floor(min(seconds)), math.ceil(max(seconds))
        self.high = max(self.high, self.low + 1)

    def x(self, log_jobs: float) -> float:
        return LEFT + (RIGHT - LEFT) * (log_jobs - self.first) / (self.last - self.first)

    def y(self, log_seconds: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (log_seconds - self.low) / (self.high - self.low)

    def axes(self, jobs: list[int]) -> list[str]:
        """Return the grid, the figures beside it, and what they are of."""
        lines = []
        for power in range(self.low, self.high + 1):
            y = self.y(power)
            lines += [
                f'<line x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}" stroke="#ccc"/>',
                f'<text x="{LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{10.0**power:g}</text>',
            ]
        for count in jobs:
            x = self.x(math.log10(count))
            lines += [
                f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{BOTTOM}" stroke="#eee"/>',
                f'<text x="{x:.1f}" y="{BOTTOM + 18}" text-anchor="middle">{count}</text>',
            ]
        middle, half = (LEFT + RIGHT) / 2, (TOP + BOTTOM) / 2
        return [
            *lines,
            f'<path d="M{LEFT} {TOP}V{BOTTOM}H{RIGHT}" fill="none" stroke="black"/>',
            f'<text x="{middle:.0f}" y="{BOTTOM + 44}" text-anchor="middle">jobs of the day</text>',
            f'<g transform="translate(22 {half:.0f}) rotate(-90)" text-anchor="middle">',
            "<text>seconds of the processor</text></g>",
        ]

    def drawn(self, number: int, name: str, found: Points) -> list[str]:
        """Return the marks of one kind, the line through them, and its words above the paper."""
        colour, dashes, mark = STYLES[number]
        line, words = _line(found), name
        lines = []
        if line is not None:
            words = f"{name}: jobs to the power {line[1]:.2f}"
            ends = [math.log10(jobs) for jobs in (min(found)[0], max(found)[0])]
            places = " ".join(f"{self.x(x):.1f},{self.y(line[0] + line[1] * x):.1f}" for x in ends)
            lines.append(self._stroke(places, colour, dashes))
        for jobs, seconds in found:
            x, y = self.x(math.log10(jobs)), self.y(math.log10(max(seconds, LEAST_S)))
            lines.append(_mark(mark, x, y, colour))
        y = 20 + 20 * number
        return [
            *lines,
            self._stroke(f"{LEFT},{y} {LEFT + 34},{y}", colour, dashes),
            _mark(mark, LEFT + 17, y, colour),
            f'<text x="{LEFT + 44}" y="{y + 4}">{words}</text>',
        ]

    def _stroke(self, places: str, colour: str, dashes: str) -> str:
        return (
            f'<polyline points="{places}" fill="none" stroke="{colour}" stroke-width="1.5" '
            f'stroke-dasharray="{dashes}"/>'
        )


def _mark(mark: str, x: float, y: float, colour: str) -> str:
    if mark == "circle":
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="white" '
            f'stroke="{colour}" stroke-width="1.8"/>'
        )
    return f'<rect x="{x - 3.5:.1f}" y="{y - 3.5:.1f}" width="7" height="7" fill="{colour}"/>'
