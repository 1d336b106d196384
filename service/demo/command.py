"""The demo from its first line to Ctrl-C."""

from __future__ import annotations

import secrets
import signal
import sys
from argparse import Namespace
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from socket import socket
from time import perf_counter
from zoneinfo import ZoneInfo

from service import logs
from service.api.work.links import NoteLinks
from service.bootstrap import make_app
from service.demo.clock import DemoClock
from service.demo.folder import FolderNotOurs, clear_records, open_folder
from service.demo.invitation import asking, curl_lines, join_lines
from service.demo.kept import NothingKept, kept_world
from service.demo.morning import AERODROME, SITE_CALLS, SITE_SHUTS
from service.demo.server import HOST, PlannerBehind, PortTaken, listening, port_of, server_of
from service.demo.story import DEPOT, FIRM
from service.demo.summary import refusals_of, table_of
from service.demo.world import World, make_world, moment_of, serving_use_cases
from service.settings import Settings
from service.storage.engine import make_engine
from service.storage.migrations import create, upgrade
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.records.callers.sessions import KeepSessions
from service.usecases.telling.decisions.plan.refused import refused_words

FIRST_PORT = 8080
CUT_BEFORE_NOW = timedelta(minutes=10)


def run_demo(arguments: Namespace) -> int:
    """Make the demo, say what to open and to ask, and serve until Ctrl-C; return the exit code.

    Parameters
    ----------
    arguments
        ``folder``, ``keep``, ``serve``, ``port``, ``day`` and ``at`` of the command line, and
        ``began_s``: when the command began, by `time.perf_counter` [s].
    """
    logs.configure(level="warning", log_format="console")
    tell = _teller(arguments.began_s)
    try:
        with listening(arguments.port, first=FIRST_PORT) as held:
            return _run(arguments, _records(arguments.folder), held=held, tell=tell)
    except (PortTaken, FolderNotOurs, NothingKept) as refusal:
        print(refusal, file=sys.stderr)
        return 1


def _records(folder: Path) -> Path:
    try:
        return open_folder(folder)
    except OSError as error:
        raise FolderNotOurs(
            f"{folder} cannot be used ({error.strerror}); name another with --folder."
        ) from error


def _run(arguments: Namespace, records: Path, *, held: socket, tell: Callable[[str], None]) -> int:
    if not arguments.keep:
        clear_records(records)
    settings = Settings(
        database_url=f"sqlite:///{records.resolve()}",
        signing_key=secrets.token_hex(32),
        public_url=f"http://{HOST}:{port_of(held)}",
    )
    day = arguments.day or datetime.now(ZoneInfo(DEPOT.time_zone)).date()
    _greet(day, arguments.at, records, tell)
    (upgrade if arguments.keep else create)(settings.database_url)
    tell("tables made")
    engine = make_engine(settings.database_url)
    clock = DemoClock(moment_of(day, arguments.at))
    try:
        with working_for(EveryFirm.DEMO):
            if arguments.keep:
                world = kept_world(engine, clock=clock)
                tell(f"kept as it was left, on {world.day:%A %d %B %Y} at {_at_depot(clock.now())}")
            else:
                world = make_world(
                    settings, engine, clock=clock, day=day, tell=tell, until=arguments.at
                )
            use_cases = serving_use_cases(settings, engine, clock)
            lines = _invite(world, settings, use_cases.keep_sessions)
        app = make_app(settings, use_cases)
        server = server_of(app, held) if arguments.serve else None
        for line in lines:
            print(line)
        if server is None:
            return 0
        tell("ready")
        print("\nCtrl-C ends the demo.", flush=True)
        clock.run()
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        planner = PlannerBehind(tell)
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            print()
        finally:
            planner.end()
            server.server_close()
        return 0
    finally:
        engine.dispose()


def _greet(day: date, at: time, records: Path, tell: Callable[[str], None]) -> None:
    print(f"{FIRM.name}, {day:%A} {day.day} {day:%B %Y}. Everybody and everything is invented.")
    print(f"The demo's clock begins at {at:%H:%M} at the firm's yard, whatever yours says.")
    print(f"Records: {records}\n", flush=True)
    tell("libraries read")


def _at_depot(moment: datetime) -> str:
    return f"{moment.astimezone(ZoneInfo(DEPOT.time_zone)):%H:%M}"


def _invite(world: World, settings: Settings, sessions: KeepSessions) -> list[str]:
    links = NoteLinks(public_url=settings.public_url, signing_key=settings.signing_key)
    values = asking(
        address=settings.public_url,
        secret=world.secret,
        lawn_id=world.forgotten_lawn_id,
        crew_id=world.crew_id,
        vehicle_id=world.vehicle_id,
        cut_at=world.now.astimezone(ZoneInfo("UTC")) - CUT_BEFORE_NOW,
        depot_id=world.depot_id,
        note_id=world.open_note_id,
    )
    post, read, fetch = curl_lines(values)
    return [
        "",
        f"What becomes of the day's {_lots(world)} lots, as planned at {_at_depot(world.now)}:",
        *table_of(world.plan.routing),
        f"  Beds and sites that refuse clean clippings today: {_refusals(world)}.",
        f"  {AERODROME} telephoned at {SITE_CALLS:%H:%M}: its last load is at {SITE_SHUTS:%H:%M}.",
        *(f"  {trouble}" for trouble in world.troubles),
        "",
        "Open in a browser; each link joins it once, as one person (leave, and be another):",
        *join_lines(
            sessions,
            world.firm_id,
            crew_id=world.crew_id,
            site_id=world.site_id,
            address=settings.public_url,
        ),
        "",
        "Open:",
        f"  {settings.public_url}/docs",
        f"    every request there is; paste the key {world.secret} under Authorize,",
        f"    then try GET /days/today/routing with depot_id {world.depot_id}",
        f"  {links.page(world.open_note_id)}",
        "    a delivery note as its client sees it",
        f"  {links.pdf(world.open_note_id)}",
        "    the same note as PDF",
        "  Keys of the other roles, to see what each may do:",
        *(f"    {role.value:<11} {secret}" for role, secret in world.other_secrets.items()),
        "",
        "Ask: post a job that was forgotten, read the day's routing, fetch the note.",
        "These are first plans, without a bound. Whole days are searched as soon as the planner's",
        "machine code is there, which is said below.",
        post,
        read,
        fetch,
        "",
    ]


def _refusals(world: World) -> str:
    counts = refusals_of(world.plan.routing)
    return refused_words(f"{code}: {count} destinations" for code, count in counts.items())


def _lots(world: World) -> int:
    lots = world.plan.routing["lots"]
    return len(lots) if isinstance(lots, list) else 0


def _teller(began_s: float) -> Callable[[str], None]:
    def tell(what: str) -> None:
        print(f"  {perf_counter() - began_s:5.1f} s  {what}", flush=True)

    return tell
