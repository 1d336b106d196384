"""The table of all published checks, which stands in README.md beside this module.

``python -m tests.published.table`` writes it.
"""

import importlib
from pathlib import Path
from types import ModuleType

from tests.published.printed import Printed

HERE = Path(__file__).parent
PAGE = HERE / "README.md"
# Digits shown of our number beyond the printed ones: enough to see how close it comes.
MORE_DIGITS = 2


def modules() -> list[ModuleType]:
    return [
        importlib.import_module(f"tests.published.{path.stem}")
        for path in sorted(HERE.glob("test_*.py"))
    ]


def checks() -> list[Printed]:
    """Return every published check, by source and then as written."""
    found = [check for module in modules() for check in getattr(module, "PRINTED", ())]
    return sorted(found, key=lambda check: check.source)


def computed(check: Printed) -> str:
    """Return our number with two digits more than the printed one has."""
    decimals = len(check.printed.partition(".")[2])
    return f"{check.compute():.{decimals + MORE_DIGITS}f}"


def page() -> str:
    """Return the page in Markdown: what it is, how many checks there are, and the table."""
    rows = checks()
    sources = {check.source for check in rows}
    lines = [
        "# Published checks",
        "",
        "What a source prints, and what the service computes for it. Each row is a test: the two",
        "agree to half of the last printed digit. Sources are named by their key in",
        "[sources.toml](../../service/rules/sources.toml).",
        "",
        "Written by `python -m tests.published.table`; do not edit.",
        "",
        f"{len(rows)} checks against {len(sources)} sources.",
        "",
        "| Check | Source | Where | Printed | Computed |",
        "|---|---|---|---:|---:|",
        *(
            f"| {check.check} | {check.source} | {check.where} | {check.printed} "
            f"| {computed(check)} |".replace("\n", " ")
            for check in rows
        ),
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write the page."""
    PAGE.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
