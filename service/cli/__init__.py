"""The door for people at a terminal: ``clipping-dispatch``.

Libraries are imported by the command that needs them, so that ``--help`` answers at once.
"""

from __future__ import annotations

import gc
import os
import sys
import time
from argparse import Namespace
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from service.cli.arguments import parser
from service.cli.faults import CommandRefused
from service.settings import SettingsRefused

DONE, REFUSED, BAD_USAGE, INTERRUPTED = 0, 1, 2, 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return the exit code: 0 done, 1 refused, 2 called wrongly.

    Parameters
    ----------
    arguments
        What stands after the command's name; the process's own if left out.
    """
    began_s = time.perf_counter()
    if arguments is not None:
        return _run(list(arguments), began_s)
    with _nothing_collected():
        return _run(sys.argv[1:], began_s)


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """Look for no garbage while libraries are read, nor among them at the end.

    That took a third of a short command's time; what runs on turns it on again when it begins.
    """
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


def _collect_from_now_on() -> None:
    """Look for garbage again, but not among what was read so far."""
    gc.freeze()
    gc.enable()


def _run(words: list[str], began_s: float) -> int:
    if words[:1] == ["solve"]:
        # The planner reads its own words, also where it is used without the service.
        return _solve(words[1:])
    called = parser().parse_args(words)
    called.began_s = began_s
    try:
        return _COMMANDS[called.command](called)
    except SettingsRefused as fault:
        print(fault, file=sys.stderr)
        return BAD_USAGE
    except CommandRefused as refusal:
        print(refusal, file=sys.stderr)
        return BAD_USAGE if refusal.called_wrongly else REFUSED
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read along has gone, as `head` does; what is left to say goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return REFUSED


def _solve(words: Sequence[str]) -> int:
    from service.planning.command import solve_command  # noqa: PLC0415 - see this module's first lines

    _collect_from_now_on()
    try:
        return solve_command(words)
    except KeyboardInterrupt:
        return INTERRUPTED


def _demo(called: Namespace) -> int:
    from service.planning.arrays.compiled import begin_plainly  # noqa: PLC0415 - see this module's first lines

    # Its days are small enough to be planned without machine code, which is found or made behind.
    begin_plainly()
    print("Making an invented firm's working day; it takes some seconds.", flush=True)
    from service.demo.command import run_demo  # noqa: PLC0415 - see this module's first lines

    _collect_from_now_on()
    return run_demo(called)


def _serve(called: Namespace) -> int:
    from service.planning.arrays.compiled import leave_planning_to_another  # noqa: PLC0415 - see this module's first lines

    # These processes take records and read plans; neither compiler nor solver is in them.
    leave_planning_to_another()
    from service.cli.serving import serve  # noqa: PLC0415 - see above

    _collect_from_now_on()
    serve(called, os.environ)
    return DONE


def _plan(called: Namespace) -> int:
    from service.cli.planning import plan  # noqa: PLC0415 - see this module's first lines

    _collect_from_now_on()
    plan(called, os.environ)
    return DONE


def _warm(called: Namespace) -> int:
    from service.cli.warming import warm_up  # noqa: PLC0415 - see this module's first lines

    _collect_from_now_on()
    return warm_up(called)


def _migrate(called: Namespace) -> int:
    from service.cli.records import migrate  # noqa: PLC0415 - see this module's first lines

    migrate(called, os.environ)
    return DONE


def _check(called: Namespace) -> int:
    from service.cli.checking import check_mass_book  # noqa: PLC0415 - see this module's first lines

    return DONE if check_mass_book(called, os.environ, repair=called.repair) else REFUSED


def _backup(called: Namespace) -> int:
    from service.cli.backups import back_up_records  # noqa: PLC0415 - see this module's first lines

    back_up_records(called, os.environ)
    return DONE


def _restore(called: Namespace) -> int:
    from service.cli.backups import restore_records  # noqa: PLC0415 - see this module's first lines

    return DONE if restore_records(called, os.environ) else REFUSED


def _erasures(called: Namespace) -> int:
    from service.cli.erasures import list_erasures  # noqa: PLC0415 - see this module's first lines

    list_erasures(called, os.environ)
    return DONE


def _firms(called: Namespace) -> int:
    from service.cli import records  # noqa: PLC0415 - see this module's first lines

    acts = {"create": records.found_firm, "list": records.list_firms}
    acts[called.act](called, os.environ)
    return DONE


def _keys(called: Namespace) -> int:
    from service.cli import records  # noqa: PLC0415 - see this module's first lines

    acts = {
        "create": records.create_key,
        "list": records.list_keys,
        "rotate": records.rotate_key,
        "revoke": records.revoke_key,
    }
    acts[called.act](called, os.environ)
    return DONE


def _sessions(called: Namespace) -> int:
    from service.cli import sessions  # noqa: PLC0415 - see this module's first lines

    acts = {"invite": sessions.invite, "list": sessions.list_sessions, "end": sessions.end_session}
    acts[called.act](called, os.environ)
    return DONE


def _openapi(_called: Namespace) -> int:
    import json  # noqa: PLC0415 - see this module's first lines

    from service.bootstrap import openapi_document  # noqa: PLC0415 - see above

    print(json.dumps(openapi_document(), indent=2, ensure_ascii=False))
    return DONE


_COMMANDS = {
    "backup": _backup,
    "check": _check,
    "demo": _demo,
    "erasures": _erasures,
    "firms": _firms,
    "keys": _keys,
    "migrate": _migrate,
    "openapi": _openapi,
    "restore": _restore,
    "plan": _plan,
    "serve": _serve,
    "sessions": _sessions,
    "warm": _warm,
}
