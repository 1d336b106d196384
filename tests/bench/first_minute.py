"""Processor seconds of the first minute with the project: import, a key, the demo, its requests.

    python -m tests.bench.first_minute            the figures
    python -m tests.bench.first_minute --check    and exit code 1 where one is above its limit

User and system time of the process and of the children that it waits for, never the clock: on a
busy machine the same figures come out. A slow machine needs more of them for everything: what
importing a library of others takes is measured beside, and the limits grow with it. What is
compiled behind the demo is not in them, for the demo is ready before that begins;
`clipping-dispatch warm` says what it takes.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import urllib.request
from collections.abc import Callable
from pathlib import Path

PROGRAM = [sys.executable, "-c", "import sys; from service.cli import main; sys.exit(main())"]
TICKS = os.sysconf("SC_CLK_TCK")
# What makes a key reads the kinds of destinations since the list of records follows from them.
LIMITS_S = {"demo": 12.0, "keys create": 1.0, "post a job": 2.0, "read the routing": 2.0}
# The limits hold where this takes half a second; where it takes longer they are so much longer too.
LIBRARY = [sys.executable, "-c", "import sqlalchemy.orm"]
LIBRARY_S = 0.5
PLAIN = {"NUMBA_DISABLE_JIT": "1"}


def used_by(command: list[str], environment: dict[str, str]) -> float:
    """Return the processor seconds of a command that ends by itself."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    run = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    if run.returncode != 0:
        sys.exit(run.stderr)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def used_so_far(pid: int) -> float:
    """Return the processor seconds of a process that runs, and of children that have ended."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return sum(int(ticks) for ticks in fields[11:15]) / TICKS


class Demo:
    """A demo that runs, and what it printed."""

    def __init__(self, folder: Path, environment: dict[str, str]) -> None:
        """Start it, and wait until it says that it is ready."""
        self.process = subprocess.Popen(
            [*PROGRAM, "demo", "--folder", str(folder)],
            env=environment,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.lines = self.until(r"\bready$")
        self.ready_s = used_so_far(self.process.pid)

    def until(self, pattern: str) -> list[str]:
        """Return the lines printed until one is like this."""
        lines = []
        for line in self.process.stdout:
            lines.append(line.rstrip())
            if re.search(pattern, lines[-1]):
                return lines
        sys.exit("\n".join(lines))

    def used_by_asking(self, number: int) -> float:
        """Return the processor seconds that the demo needs for one of the requests it printed."""
        line = [line for line in self.lines if line.startswith("curl ")][number]
        words = shlex.split(line)
        headers = dict(
            words[at + 1].split(": ", 1) for at, word in enumerate(words) if word == "-H"
        )
        body = words[words.index("-d") + 1].encode() if "-d" in words else None
        address = next(word for word in words if word.startswith("http"))
        before = used_so_far(self.process.pid)
        with urllib.request.urlopen(  # noqa: S310 - the demo's own address
            urllib.request.Request(address, data=body, headers=headers)  # noqa: S310 - see above
        ) as answer:
            json.load(answer)
        return used_so_far(self.process.pid) - before

    def end(self) -> None:
        """End it; who was started in the background of a shell may be deaf to Ctrl-C."""
        self.process.send_signal(signal.SIGTERM)
        self.process.wait()


def key_of_a_new_firm(folder: Path, environment: dict[str, str]) -> list[str]:
    """Return the command that makes a key, for a firm that was made for it."""
    environment = {**environment, **database(folder)}
    subprocess.run([*PROGRAM, "migrate"], env=environment, check=True, capture_output=True)
    words = ["--name", "A", "--address", "B", "--phone", "C", "--currency", "GBP"]
    made = subprocess.run(
        [*PROGRAM, "firms", "create", *words],
        env=environment,
        check=True,
        capture_output=True,
        text=True,
    )
    (firm,) = re.findall(r"[0-9a-f-]{36}", made.stdout)
    return [*PROGRAM, "keys", "create", "--firm", firm, "--role", "owner", "--name", "first"]


def measured(folder: Path, tell: Callable[[str, float], None]) -> None:
    """Measure everything, and tell each figure when it is there."""
    # Byte code is kept, as it is where nobody forbids it: the first import makes it.
    own = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    cold = {**own, "CLIPPING_MACHINE_CODE": str(folder / "none"), "XDG_CACHE_HOME": str(folder)}
    tell("import of the package", used_by([sys.executable, "-c", "import service"], own))
    tell("import of everything", used_by([sys.executable, "-c", "import service.bootstrap"], own))
    # What else the machine does can only add: the least of five is what the command takes.
    command = key_of_a_new_firm(folder, own)
    libraries, keys = [], []
    for _ in "12345":
        libraries.append(used_by(LIBRARY, own))
        keys.append(used_by(command, {**own, **database(folder)}))
    tell("import of a library", min(libraries))
    tell("keys create", min(keys))
    for name, environment in (("cold", cold), ("warm", own)):
        demo = Demo(folder / name, environment)
        tell(f"demo, {name}", demo.ready_s)
        demo.end()
    demo = Demo(folder / "plain", {**own, **PLAIN})
    tell("demo, plain Python", demo.ready_s)
    tell("post a job, plain Python", demo.used_by_asking(0))
    tell("read the routing, plain Python", demo.used_by_asking(1))
    tell("read it again, plain Python", demo.used_by_asking(1))
    demo.end()


def database(folder: Path) -> dict[str, str]:
    """Return the environment that names a folder's database."""
    return {"CLIPPING_DATABASE_URL": f"sqlite:///{folder}/records.sqlite"}


def main() -> int:
    """Print the figures; with ``--check`` return 1 if one is above its limit."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="fail where a limit is passed")
    called = parser.parse_args()
    above = []
    slower = 1.0

    def tell(what: str, seconds: float) -> None:
        nonlocal slower
        if what == "import of a library":
            slower = max(1.0, seconds / LIBRARY_S)
        limits = (most * slower for name, most in LIMITS_S.items() if what.startswith(name))
        limit = next(limits, None)
        told = "" if limit is None else f"   at most {limit:4.1f}"
        print(f"{what:<32} {seconds:6.2f} s{told}", flush=True)
        if limit is not None and seconds > limit:
            above.append(what)

    folder = Path(tempfile.mkdtemp(prefix="first-minute-"))
    try:
        measured(folder, tell)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    if above and called.check:
        print(f"Above the limit: {', '.join(above)}.")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
