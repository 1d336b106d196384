"""Have all machine code ready before the first question comes: found where it is kept, or made."""

from __future__ import annotations

import contextlib
import fcntl
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator

from service.planning.arrays import compiled, machine_code
from service.planning.model.problem import Problem
from service.planning.solve import solve

Say = Callable[[str], None]
# Measured on one core of 2024 (TRIED.md, 2026-11-30); told before it begins.
ABOUT_S = 70
GIVES_WAY = 10  # the kernel's niceness of what is made behind


def is_kept() -> bool:
    """Tell whether all machine code of these sources is kept for this processor."""
    return machine_code.is_kept(_mark())


def warm(say: Say | None = None) -> float:
    """Plan a day of one job, so that all code is loaded or made; return the seconds it took.

    What is made is kept; later processes load it in about a second. Two processes that begin at
    the same time make it once: the second waits for the first.

    Parameters
    ----------
    say
        Hears what is being made, function by function.
    """
    started = time.perf_counter()
    if is_kept():
        solve(Problem.from_json(one_job()))
    else:
        with _alone(say or (lambda _: None)), _told(say):
            solve(Problem.from_json(one_job()))
            machine_code.keep(_mark(), b"all of it")
    return time.perf_counter() - started


def start_making() -> subprocess.Popen[bytes]:
    """Start to make all machine code in a process of its own, which gives way to others."""
    process = subprocess.Popen(  # noqa: S603 - this very program
        [sys.executable, "-c", f"from {__name__} import warm; warm()"], process_group=0
    )
    os.setpriority(os.PRIO_PROCESS, process.pid, GIVES_WAY)
    return process


def ready(say: Say) -> None:
    """Have all machine code ready, and say so first if it takes more than a moment."""
    if compiled.is_plain():
        return
    if not is_kept():
        say(
            "The planner is compiled, once on this machine: some "
            f"{ABOUT_S} s of processor time. No search's clock runs yet."
        )
    warm(say)


def _mark() -> str:
    """Return the name of what is kept when everything is: it says of which sources, and for what.

    Of all modules with compiled functions, so this one must have been imported, as it is by now.
    """
    from numba.core.codegen import ll as llvm  # type: ignore[attr-defined] # noqa: PLC0415 - slow

    processor = (str(llvm.get_host_cpu_name()), machine_code.processor_asked_for())
    modules = sorted({function.__module__ for function, _ in compiled.registered()})
    digests = [machine_code.digest_of_module(module) for module in modules]
    return f"all-{machine_code.digest_of(machine_code.tools(), *processor, *modules, *digests)}"


@contextlib.contextmanager
def _alone(say: Say) -> Iterator[None]:
    """Wait until no other process of this user makes machine code."""
    folder = machine_code.writable_folder()
    if folder is None:
        yield
        return
    with (folder / "lock").open("w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Another process is compiling it already; this one waits and takes what it made.")
            fcntl.flock(file, fcntl.LOCK_EX)
        yield


@contextlib.contextmanager
def _told(say: Say | None) -> Iterator[None]:
    """Say which function is being made, and how many there are."""
    if say is None or compiled.is_plain():
        yield
        return
    from service.planning.arrays.machine import making  # noqa: PLC0415 - imports the compiler

    with making(say, among=compiled.registered()):
        yield


def one_job() -> dict[str, object]:
    """Return a day of one vehicle with one job, and two places that take what it loads."""
    place = {"id": "here", "x_m": 0, "y_m": 0}
    return {
        "format": 1,
        "name": "warm",
        "costs": {
            "drive_cents_per_km": 100,
            "late_cents_per_min": 100,
            "overtime_cents_per_min": 100,
            "overflow_cents_per_kg": 100,
            "speed_m_per_min": 600,
            "detour_permille": 1000,
            "minimum_tip_kg": 30,
            "tips_between_jobs": 2,
        },
        "statuses": ["any"],
        "places": [place, {"id": "there", "x_m": 1000, "y_m": 0}],
        "vehicles": [
            {
                "id": "V",
                "start_place": "here",
                "end_place": "here",
                "shift_start_s": 0,
                "shift_end_s": 36_000,
                "payload_kg": 1000,
                "body_l": 4000,
                "jobs": ["J"],
            }
        ],
        "jobs": [
            {
                "id": "J",
                "place": "there",
                "mass_kg": 100,
                "volume_l": 400,
                "status": "any",
                "service_s": 600,
                "window_s": [0, 36_000],
            }
        ],
        "destinations": [
            {
                "id": name,
                "kind": "bed",
                "place": "there",
                "capacity_kg": room,
                "fee_cents_per_t": fee,
                "accepts": ["any"],
                "tip_s": 60,
                "stop_cents": 100,
                "open_s": 0,
                "close_s": 86_400,
            }
            for name, room, fee in (("near", 60, 0), ("far", 1000, 10))
        ],
    }
