"""Where machine code is kept: by what it was made from, where every environment finds it.

A file's name is a digest of everything its content depends on: the sources, the versions of Python
and of the libraries that compile, the processor, and the types of the arguments. So a second
virtual environment, another checkout with the same sources, and an image find what was compiled
before, and nothing stale is ever loaded, whatever the times of the files say.

To load machine code is to run it. It is taken only from folders that nobody can write to but the
user who asks and the administrator.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import platform
import re
import stat
import sys
import tempfile
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path

VARIABLE = "CLIPPING_MACHINE_CODE"  # names a folder that is looked at first, and written to
FOR_EVERYBODY = Path("/var/cache/clipping-dispatch/machine-code")
ROOT = 0
OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH
OTHERS_ENTER = stat.S_IXGRP | stat.S_IXOTH
TOOLS = ("numba", "llvmlite", "numpy")

_PACKAGE = "service.planning"  # all that is compiled stands below it
_HERE = __name__.rpartition(".")[0]
_TOP = Path(__file__).parents[__name__.count(".")]
# What compiles, or says what to compile, is in no function.
_NO_CODE = frozenset({__name__, f"{_HERE}.compiled", f"{_HERE}.machine"})
_BORROWING = f"{_HERE}.borrowing"  # says what becomes of borrowed arrays; nobody imports it
_IMPORTS = re.compile(
    rf"^\s*from ({re.escape(_PACKAGE)}[\w.]*) import (\([^)]*\)|[^(\n]+)", re.MULTILINE
)


@dataclass(slots=True)
class Gathering:
    """Whether what is found in another folder is put into the one that is written to."""

    is_on: bool = False


_GATHERING = Gathering()


def gather() -> None:
    """Have everything put into the folder that is written to, also what another one has already.

    Whoever fills a folder for others asks for it: they look into none of this user's own.
    """
    _GATHERING.is_on = True


def folders() -> tuple[Path, ...]:
    """Return the folders to look into, in this order."""
    given = os.environ.get(VARIABLE)
    first = Path(given) if given else FOR_EVERYBODY
    return (first, *_of_this_user())


def _of_this_user() -> tuple[Path, ...]:
    base = os.environ.get("XDG_CACHE_HOME")
    try:
        under = Path(base) if base else Path.home() / ".cache"
    except RuntimeError:  # a user without a home
        return ()
    return (under / "clipping-dispatch" / "machine-code",)


def writable_folder() -> Path | None:
    """Return the folder to write to, made if need be; None if there is none to be trusted."""
    for folder in folders():
        if folder == FOR_EVERYBODY and not folder.is_dir():
            continue  # made only when somebody asks for it
        with contextlib.suppress(OSError):
            made_folder(folder)
            if is_trusted(folder) and os.access(folder, os.W_OK):
                return folder
    return None


def made_folder(folder: Path) -> Path:
    """Return the folder, made if it was not there: for everybody to read only if it is theirs."""
    if not folder.is_dir():
        folder.parent.mkdir(mode=0o755, parents=True, exist_ok=True)
        private = folder in _of_this_user()
        folder.mkdir(mode=0o700 if private else 0o755, exist_ok=True)
    return folder


def is_trusted(folder: Path) -> bool:
    """Tell whether nobody but this user and the administrator can put anything into a folder.

    Neither the folder nor any above it may belong to or be written to by somebody else; a sticky
    one above it, such as ``/tmp``, may, for there others cannot move what is not theirs.
    """
    try:
        real = folder.resolve(strict=True)
        above = [parent.stat() for parent in real.parents]
        own = real.stat()
    except OSError:
        return False
    return _is_ours(own) and all(
        one.st_uid in {ROOT, os.geteuid()}
        and (not one.st_mode & OTHERS_WRITE or bool(one.st_mode & stat.S_ISVTX))
        for one in above
    )


def _is_ours(found: os.stat_result) -> bool:
    return found.st_uid in {ROOT, os.geteuid()} and not found.st_mode & OTHERS_WRITE


def read(name: str) -> bytes | None:
    """Return the kept content of this name; None if there is none, or none to be trusted."""
    for folder in folders():
        try:
            with (folder / name).open("rb") as file:
                found = os.fstat(file.fileno())
                shut = not folder.stat().st_mode & OTHERS_ENTER
                if is_trusted(folder) and (_is_ours(found) or shut):
                    content = file.read()
                    break
        except OSError:
            continue
    else:
        return None
    if _GATHERING.is_on and folder != writable_folder():
        keep(name, content)
    return content


def is_kept(name: str) -> bool:
    """Tell whether something of this name is kept where it would be read."""
    if not _GATHERING.is_on:
        return read(name) is not None
    folder = writable_folder()
    return folder is not None and (folder / name).is_file()


def keep(name: str, content: bytes) -> bool:
    """Keep a content, whole or not at all; tell whether it is kept.

    A full disk or a folder that cannot be written costs only time: the code is compiled again.
    """
    folder = writable_folder()
    if folder is None:
        return False
    temporary = None
    try:
        with tempfile.NamedTemporaryFile(dir=folder, prefix="new-", delete=False) as file:
            temporary = Path(file.name)
            file.write(content)
        temporary.chmod(0o644)
        temporary.replace(folder / name)
    except OSError:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        return False
    return True


@cache
def tools() -> str:
    """Return what compiles, in words: Python and the libraries, with their versions."""
    versions = ", ".join(f"{name} {version(name)}" for name in TOOLS)
    return f"{sys.implementation.cache_tag} {platform.system()} {platform.machine()}, {versions}"


def processor_asked_for() -> str:
    """Return for which processor the environment asks code to be made, in the compiler's words."""
    return ":".join(os.environ.get(f"NUMBA_CPU_{what}", "") for what in ("NAME", "FEATURES"))


def digest_of(*parts: str) -> str:
    """Return a digest of texts."""
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:32]


@cache
def digest_of_module(module: str) -> str:
    """Return a digest of a module's source and of all it imports from this package.

    What compiled code calls, and each constant it uses, is put into its machine code.
    """
    found = dict.fromkeys(_NO_CODE, "")
    open_ = [module, _BORROWING]
    while open_:
        name = open_.pop()
        if name not in found:
            found[name] = _source_of(name)
            for package, names in _IMPORTS.findall(found[name]):
                open_ += [package, *(f"{package}.{one}" for one in re.findall(r"\w+", names))]
    return digest_of(*(text for pair in sorted(found.items()) for text in pair))


def _source_of(module: str) -> str:
    path = _TOP.joinpath(*module.split("."))
    for file in (path.with_suffix(".py"), path / "__init__.py"):
        if file.is_file():
            return file.read_text(encoding="utf-8")
    return ""  # a name taken from a module; what it says is in that module's text
