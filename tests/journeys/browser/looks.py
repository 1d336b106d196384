"""What is looked for on every screen: that it fits, and bars nobody."""

from pathlib import Path

VENDOR = Path(__file__).parents[2] / "vendor" / "axe"
AXE = VENDOR / "axe.min.js"
WIDTHS = (390, 1280)
# What is not there after this is called lost, as in `tests/effort.py`; whoever changes a page waits
# for it.
LOST_AFTER_MS = 120_000


def wide_as(page):
    return page.evaluate("document.documentElement.scrollWidth")


def barriers(page):
    """Return what of WCAG 2.2, A and AA, and of good practice a page breaks, by axe-core."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    rules = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]
    found = page.evaluate("rules => axe.run({ runOnly: rules })", rules)
    return [(one["id"], one["nodes"][0]["html"][:120]) for one in found["violations"]]
