"""The table of all published checks, for DEVELOPERS.md.

``python -m tests.published.table`` writes it between the two marks there.
"""

import importlib
from pathlib import Path
from types import ModuleType

from tests.published.printed import Printed

HERE = Path(__file__).parent
DEVELOPERS = HERE.parents[1] / "DEVELOPERS.md"
BEGIN = "<!-- published checks: begin, written by python -m tests.published.table -->"
END = "<!-- published checks: end -->"
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


def table() -> str:
    """Return the table in Markdown, with a line that counts it."""
    rows = checks()
    sources = {check.source for check in rows}
    lines = [
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
    return "\n".join(lines)


def section(text: str) -> str | None:
    """Return what stands between the marks, or None if they are not there."""
    if BEGIN not in text or END not in text:
        return None
    return text.partition(BEGIN)[2].partition(END)[0].strip()


def written(text: str) -> str:
    """Return the text with the table between its marks, appended if there are none."""
    fresh = f"{BEGIN}\n\n{table()}\n\n{END}"
    if section(text) is None:
        return f"{text.rstrip()}\n\n## Published checks\n\n{fresh}\n"
    before, _, rest = text.partition(BEGIN)
    return before + fresh + rest.partition(END)[2]


def main() -> None:
    """Write the table into DEVELOPERS.md."""
    DEVELOPERS.write_text(written(DEVELOPERS.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
