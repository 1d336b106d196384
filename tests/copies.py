"""Copies of folders of this checkout, taken while other workers run what is in them."""

import shutil
from pathlib import Path


def copied(folder: Path, to: Path) -> None:
    """Copy a folder whole, but for what Python is just writing: it has another name when done."""
    shutil.copytree(folder, to, ignore=shutil.ignore_patterns("*.pyc.*"))
