"""Compile the planner before somebody waits for it."""

from __future__ import annotations

import os
import time
from argparse import Namespace

from service.cli.faults import CommandRefused
from service.planning.arrays import machine_code


def warm_up(called: Namespace) -> int:
    """Compile what is not kept yet, saying what is done; return the exit code.

    Raises
    ------
    CommandRefused
        If nothing can be kept, and so nothing would be gained.
    """
    if called.for_everybody:
        os.environ[machine_code.VARIABLE] = str(machine_code.FOR_EVERYBODY)
        os.umask(0o022)
        try:
            machine_code.made_folder(machine_code.FOR_EVERYBODY)
        except OSError as error:
            raise CommandRefused(
                f"{machine_code.FOR_EVERYBODY} cannot be made: {error.strerror}."
            ) from error
    if os.environ.get(machine_code.VARIABLE):
        machine_code.gather()
    folder = machine_code.writable_folder()
    if folder is None:
        places = " nor ".join(str(place) for place in machine_code.folders())
        raise CommandRefused(
            f"Neither {places} can be written by this user alone; "
            f"name a folder in {machine_code.VARIABLE}."
        )
    from service.planning.warm import ready  # noqa: PLC0415 - the planner takes a second to read

    began_s = time.process_time()
    ready(lambda line: print(line, flush=True))
    print(f"The planner is ready, after {time.process_time() - began_s:.1f} s of processor time.")
    print(f"Its machine code is kept in {folder}.")
    return 0
