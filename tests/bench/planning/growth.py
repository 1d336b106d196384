"""How seconds grow with jobs: the exponent, and a drawing of it."""

from __future__ import annotations

import math


def exponent(points: list[tuple[int, float]]) -> float:
    """Return the slope of seconds over jobs, both as logarithms, by least squares."""
    logs = [(math.log(jobs), math.log(max(seconds, 1e-4))) for jobs, seconds in points]
    mean_x = sum(x for x, _ in logs) / len(logs)
    mean_y = sum(y for _, y in logs) / len(logs)
    over = sum((x - mean_x) * (y - mean_y) for x, y in logs)
    return over / sum((x - mean_x) ** 2 for x, _ in logs)


def figure(points: dict[str, list[tuple[int, float]]]) -> str:
    """Return a drawing of seconds over jobs, both on logarithmic axes, as SVG."""
    colours = {"first plan": "#2a7", "whole search": "#237"}
    head = 'xmlns="http://www.w3.org/2000/svg" viewBox="0 0 420 300"'
    lines = [
        f'<svg {head} font-family="sans-serif" font-size="11">',
        '<rect width="420" height="300" fill="white"/>',
    ]

    def at(jobs: float, seconds: float) -> tuple[float, float]:
        x = 50 + 340 * (math.log10(jobs) - 1) / 3
        return x, 260 - 230 * (math.log10(max(seconds, 1e-3)) + 3) / 6

    for power in range(-3, 4):
        _, y = at(10, 10.0**power)
        lines.append(f'<line x1="50" x2="390" y1="{y:.0f}" y2="{y:.0f}" stroke="#ddd"/>')
        lines.append(f'<text x="6" y="{y + 4:.0f}">{10.0**power:g} s</text>')
    for jobs in (20, 200, 1000, 5000):
        x, _ = at(jobs, 1)
        lines.append(f'<text x="{x - 10:.0f}" y="278">{jobs}</text>')
    for number, (name, found) in enumerate(points.items()):
        for jobs, seconds in found:
            x, y = at(jobs, seconds)
            lines.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colours[name]}"/>')
        label = f"{name}: jobs to the power {exponent(found):.2f}" if len(found) > 1 else name
        lines.append(f'<text x="60" y="{20 + 14 * number}" fill="{colours[name]}">{label}</text>')
    lines.append('<text x="350" y="294">jobs</text></svg>')
    return "\n".join(lines) + "\n"
