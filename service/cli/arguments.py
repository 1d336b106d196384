"""What the command line looks like."""

from __future__ import annotations

from argparse import Action, ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Sequence
from datetime import date, time
from pathlib import Path
from typing import Any
from uuid import UUID

PROGRAM = "clipping-dispatch"
DESCRIPTION = """\
Routes mown grass to client beds, compost sites or a hold, and writes the delivery note.

Settings are read from the environment: CLIPPING_DATABASE_URL, CLIPPING_SIGNING_KEY,
CLIPPING_FORMER_SIGNING_KEYS, CLIPPING_PUBLIC_URL, CLIPPING_LOG_LEVEL, CLIPPING_LOG_FORMAT,
CLIPPING_PLAN_SECONDS, CLIPPING_CLOCK_TOLERANCE_SECONDS, CLIPPING_MAX_BODY_BYTES,
CLIPPING_REQUESTS_PER_MINUTE, CLIPPING_COMPUTATION_SECONDS_PER_MINUTE, CLIPPING_METRICS_KEY.
"""
ROLES = ("owner", "dispatcher", "crew", "site", "client", "integrator")
SEATS = ("owner", "dispatcher", "crew", "site")
LAST_PORT = 65_535
MOST_WORKERS = 64
MOST_DAYS = 3650
DEFAULT_OVERLAP_HOURS, MOST_OVERLAP_HOURS = 72, 2160  # as over HTTP
EARLIEST, LATEST = time(11, 0), time(18, 0)  # of the demo


class _ShowVersion(Action):
    """Looks the version up only when it is asked for."""

    def __call__(
        self,
        parser: ArgumentParser,
        namespace: Namespace,  # noqa: ARG002 - the signature is argparse's
        values: str | Sequence[Any] | None,  # noqa: ARG002 - see above
        option_string: str | None = None,  # noqa: ARG002 - see above
    ) -> None:
        from importlib.metadata import version  # noqa: PLC0415 - reading it takes a while

        print(f"{PROGRAM} {version(PROGRAM)}")
        parser.exit()


def parser() -> ArgumentParser:
    """Return the parser of the whole command line."""
    from argparse import RawDescriptionHelpFormatter  # noqa: PLC0415 - used here alone

    top = ArgumentParser(
        prog=PROGRAM, description=DESCRIPTION, formatter_class=RawDescriptionHelpFormatter
    )
    top.add_argument("--version", action=_ShowVersion, nargs=0, help="show the version and exit")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_demo(commands)
    _add_serve(commands)
    _add_migrate(commands)
    _add_firms(commands)
    _add_keys(commands)
    _add_sessions(commands)
    check = commands.add_parser(
        "check", help="work out the mass book's sums anew, and say what differs"
    )
    _add_database(check)
    check.add_argument("--firm", type=_identifier, help="of one firm only, by its id")
    check.add_argument(
        "--repair",
        action="store_true",
        help="write the sums of places anew before they are checked",
    )
    _add_backups(commands)
    erasures = commands.add_parser(
        "erasures", help="list who was erased, to erase them again in a copy that is put back"
    )
    _add_database(erasures)
    erasures.add_argument("--firm", type=_identifier, help="of one firm only, by its id")
    erasures.add_argument("--since", type=_day, help="from this day on (UTC), YYYY-MM-DD")
    plan = commands.add_parser("plan", help="plan days behind a server; serve begins it by itself")
    plan.add_argument("--socket", type=Path, required=True, help="where it is asked")
    commands.add_parser("solve", help="plan a day from a problem file; solve --help tells how")
    warm = commands.add_parser(
        "warm", help="compile the planner, once on a machine, so that nobody waits for it later"
    )
    warm.add_argument(
        "--for-everybody",
        action="store_true",
        help="keep it where every user of the machine finds it; asks for the right to write there",
    )
    commands.add_parser("openapi", help="print the contract of the HTTP interface")
    return top


def _add_demo(commands: Any) -> None:  # noqa: ANN401 - argparse does not name its type
    demo = commands.add_parser("demo", help="serve an invented firm's working day")
    demo.add_argument(
        "--folder",
        type=Path,
        default=Path(".demo"),
        help="where its records are kept (default: .demo in the current folder)",
    )
    demo.add_argument(
        "--keep", action="store_true", help="go on with the records of the demo before"
    )
    demo.add_argument("--port", type=_port, help="default: 8080, or the next that is free")
    demo.add_argument("--day", type=_day, help="the day to play, YYYY-MM-DD (default: today)")
    demo.add_argument(
        "--at",
        type=_hour,
        default=EARLIEST,
        help="the hour to play it to, from 11:00 to 18:00 (default: 11:00); by 16:00 a vehicle has "
        "broken down and a load was sent away",
    )
    demo.add_argument(
        "--no-serve", dest="serve", action="store_false", help="make it, print, and end"
    )


def _add_serve(commands: Any) -> None:  # noqa: ANN401 - see _add_demo
    serve = commands.add_parser("serve", help="serve the HTTP interface")
    _add_database(serve)
    serve.add_argument("--host", default="127.0.0.1", help="default: 127.0.0.1")
    serve.add_argument("--port", type=_port, default=8080, help="default: 8080")
    serve.add_argument("--workers", type=_workers, default=2, help="processes (default: 2)")


def _add_migrate(commands: Any) -> None:  # noqa: ANN401 - see _add_demo
    migrate = commands.add_parser("migrate", help="bring the database to the newest shape")
    _add_database(migrate)
    migrate.add_argument(
        "--check", action="store_true", help="change nothing; fail if something is missing"
    )


def _add_backups(commands: Any) -> None:  # noqa: ANN401 - see _add_demo
    backup = commands.add_parser("backup", help="copy the database into a file while it is served")
    _add_database(backup)
    backup.add_argument("--to", type=Path, required=True, help="the file, which is not there yet")
    restore = commands.add_parser("restore", help="put a copy in place of the database")
    _add_database(restore)
    restore.add_argument("--from", dest="source", type=Path, required=True, help="the copy")
    restore.add_argument(
        "--replace", action="store_true", help="lose the firms that are kept there now"
    )
    restore.set_defaults(firm=None)


def _add_firms(commands: Any) -> None:  # noqa: ANN401 - see _add_demo
    acts = commands.add_parser("firms", help="keep firms").add_subparsers(
        dest="act", required=True, metavar="ACT"
    )
    create = acts.add_parser("create", help="keep a new firm and print its id")
    _add_database(create)
    create.add_argument("--name", required=True)
    create.add_argument("--address", required=True, help="as it stands on delivery notes")
    create.add_argument("--phone", required=True, help="whom clients call")
    create.add_argument("--currency", required=True, help="three letters, such as GBP")
    _add_database(acts.add_parser("list", help="print every firm"))


def _add_keys(commands: Any) -> None:  # noqa: ANN401 - see _add_demo
    acts = commands.add_parser("keys", help="make, list and revoke API keys").add_subparsers(
        dest="act", required=True, metavar="ACT"
    )
    create = acts.add_parser("create", help="make a key and print its secret, this once")
    _add_database(create)
    create.add_argument("--firm", type=_identifier, required=True, help="the firm's id")
    create.add_argument("--role", choices=ROLES, required=True)
    create.add_argument("--name", required=True, help="whose it is, for the list of keys")
    create.add_argument("--crew", type=_identifier, help="the crew's id, for the role crew")
    create.add_argument("--vehicle", type=_identifier, help="or its vehicle's, for the role crew")
    create.add_argument("--client", type=_identifier, help="the client's id, for the role client")
    create.add_argument("--site", type=_identifier, help="the compost site's, for the role site")
    create.add_argument("--days", type=_days, help="how long it opens anything (default: no end)")
    rotate = acts.add_parser("rotate", help="make a key that takes another's place")
    _add_database(rotate)
    rotate.add_argument("--firm", type=_identifier, required=True, help="the firm's id")
    rotate.add_argument("--key", type=_identifier, required=True, help="the old key's id")
    rotate.add_argument(
        "--overlap-hours",
        type=_overlap,
        default=DEFAULT_OVERLAP_HOURS,
        help=f"how long the old one goes on (default: {DEFAULT_OVERLAP_HOURS})",
    )
    shown = acts.add_parser("list", help="print a firm's keys, without their secrets")
    _add_database(shown)
    shown.add_argument("--firm", type=_identifier, required=True, help="the firm's id")
    revoke = acts.add_parser("revoke", help="make a key useless from now on")
    _add_database(revoke)
    revoke.add_argument("--firm", type=_identifier, required=True, help="the firm's id")
    revoke.add_argument("--key", type=_identifier, required=True, help="the key's id")


def _add_sessions(commands: Any) -> None:  # noqa: ANN401 - see _add_demo
    acts = commands.add_parser(
        "sessions", help="invite people to the screens, list them, show them out"
    ).add_subparsers(dest="act", required=True, metavar="ACT")
    invite = acts.add_parser("invite", help="print a link that joins one device, once")
    _add_database(invite)
    invite.add_argument("--firm", type=_identifier, required=True, help="the firm's id")
    invite.add_argument("--seat", choices=SEATS, required=True, help="whose screens")
    invite.add_argument("--name", required=True, help="whose device it is")
    invite.add_argument("--crew", type=_identifier, help="the crew's id, for the seat crew")
    invite.add_argument("--site", type=_identifier, help="the compost site's id, for the seat site")
    shown = acts.add_parser("list", help="print everybody who was invited")
    _add_database(shown)
    shown.add_argument("--firm", type=_identifier, required=True, help="the firm's id")
    end = acts.add_parser("end", help="show somebody out, or withdraw their link")
    _add_database(end)
    end.add_argument("--firm", type=_identifier, required=True, help="the firm's id")
    end.add_argument("--session", type=_identifier, required=True, help="the session's id")


def _add_database(command: ArgumentParser) -> None:
    command.add_argument(
        "--database-url",
        help="instead of CLIPPING_DATABASE_URL; other users of this machine can read "
        "command lines, so keep passwords in the environment",
    )


def _identifier(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise ArgumentTypeError("an id looks like 01890a5d-ac96-774b-bcce-b302099a8057") from None


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError("a day looks like 2026-05-24") from None


def _hour(text: str) -> time:
    try:
        hour = time.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError("an hour looks like 16:00") from None
    if hour.tzinfo is not None or not EARLIEST <= hour <= LATEST:
        raise ArgumentTypeError("the day can be played to an hour from 11:00 to 18:00")
    return hour


def _port(text: str) -> int:
    return _whole(text, most=LAST_PORT)


def _workers(text: str) -> int:
    return _whole(text, most=MOST_WORKERS)


def _days(text: str) -> int:
    return _whole(text, most=MOST_DAYS)


def _overlap(text: str) -> int:
    return _whole(text, most=MOST_OVERLAP_HOURS)


def _whole(text: str, *, most: int) -> int:
    if not (text.isascii() and text.isdecimal() and 1 <= int(text) <= most):
        raise ArgumentTypeError(f"a whole number from 1 to {most} stands here")
    return int(text)
