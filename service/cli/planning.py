"""Plan days behind, and answer over a socket what only the planner can: ``serve`` begins it."""

from __future__ import annotations

import fcntl
import logging
import os
import signal
import sys
import threading
import time
from argparse import Namespace
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final, TextIO

import structlog
from sqlalchemy.exc import SQLAlchemyError

from service import logs
from service.api.search_runs import search_behind
from service.bootstrap import (
    build_app_from_env,
    build_use_cases,
    measured_plans,
)
from service.cli.web_server import WebServer, options_of
from service.gateways.time_and_ids import FreshIdentifiers, SystemClock
from service.planning.warm import is_kept, warm
from service.settings import Settings
from service.storage.engine import make_engine
from service.storage.tables.wall import gaps_in_wall
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.use_cases import ToKeep
from service.usecases.planning.behind import PlanBehind
from service.usecases.planning.searches.behind import SearchBehind

# Two, so that whoever asks what would be, for half a minute, does not stop the day's plan: one of
# them alone takes up searches on record, and days go before those.
WORKERS: Final = 2
LOOK_EVERY_S: Final = 0.25
SWEEP_EVERY_S: Final = 60.0
TIDY_EVERY_S: Final = 3600.0
TIDY_SEARCHES_EVERY_S: Final = 20.0
AFTER_A_FAULT_S: Final = 5.0


def plan(called: Namespace, environment: Mapping[str, str]) -> None:
    """Plan until the process is told to end, or whoever began it is gone.

    Raises
    ------
    SettingsRefused
    """
    settings = Settings.from_env(environment)
    logs.configure(level=settings.log_level, log_format=settings.log_format)
    log = structlog.stdlib.get_logger("service.cli")
    if not is_kept():
        log.warning(
            "planner_compiling",
            note="once on this machine, for minutes; records are taken, plans come after it",
        )
    for gap in _gaps(settings):
        log.warning("wall_between_firms_open", note=gap)
    # Before the workers are forked: they share what is loaded.
    log.info("planner_ready", seconds=round(warm(), 1))
    if not sys.stdin.isatty():
        threading.Thread(target=_end_with_owner, daemon=True).start()
    options = options_of(
        settings,
        bind=f"unix:{called.socket}",
        umask=0o077,
        workers=WORKERS,
        threads=1,
        proc_name="clipping-dispatch planner",
        post_worker_init=lambda _worker: _plan_behind(
            *planner_of(settings), turn=SearchingTurn(Path(f"{called.socket}.searching"))
        ),
    )
    WebServer(lambda: build_app_from_env(environment, is_asked=False), options).run()


def _gaps(settings: Settings) -> list[str]:
    """Return why no wall between firms holds; a database that is awaited is asked by `check`."""
    engine = make_engine(settings.database_url)
    try:
        return gaps_in_wall(engine)
    except SQLAlchemyError:
        return []
    finally:
        engine.dispose()


def planner_of(settings: Settings) -> tuple[PlanBehind, SearchBehind]:
    """Return what plans days and searches behind, over connections of its own."""
    engine = make_engine(settings.database_url)
    writing, reading = unit_of_work_opener(engine), reading_opener(engine)
    clock, identifiers = SystemClock(), FreshIdentifiers()
    use_cases = build_use_cases(
        settings,
        writing=writing,
        reading=reading,
        clock=clock,
        identifiers=identifiers,
        on_plan=measured_plans(settings, engine),
    )
    keeping = ToKeep(
        open_unit_of_work=writing, open_reading=reading, clock=clock, identifiers=identifiers
    )
    planner = PlanBehind(**keeping, plan_day=use_cases.plan_day)
    return planner, search_behind(use_cases, **keeping)


class SearchingTurn:
    """Says which of a machine's planners searches: whoever has the file, until its process ends."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file: TextIO | None = None

    def __bool__(self) -> bool:
        """Return whether it is this one."""
        if self._file is None:
            file = self._path.open("w")
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                file.close()
                return False
            self._file = file
        return True


def _end_with_owner() -> None:
    """End when the other end of standard input is closed: nobody is left to plan for."""
    while os.read(sys.stdin.fileno(), 1024):
        pass
    os.kill(os.getpid(), signal.SIGTERM)


def _plan_behind(planner: PlanBehind, searcher: SearchBehind, *, turn: SearchingTurn) -> None:
    threading.Thread(target=_keep_planning, args=(planner, searcher, turn), daemon=True).start()


def _keep_planning(planner: PlanBehind, searcher: SearchBehind, turn: SearchingTurn) -> None:
    seldom = {
        planner.sweep: SWEEP_EVERY_S,
        planner.tidy: TIDY_EVERY_S,
        searcher.tidy: TIDY_SEARCHES_EVERY_S,
    }
    due_s = dict.fromkeys(seldom, 0.0)
    while True:
        for step, every_s in seldom.items():
            if time.monotonic() >= due_s[step]:
                # Said before it is tried: what fails waits for its next turn, and nothing for it.
                due_s[step] = time.monotonic() + every_s
                _tried(step)
        # Days first: somebody stands at a gate for them.
        if not _tried(planner.plan_next) and not (turn and _tried(searcher.search_next)):
            time.sleep(LOOK_EVERY_S)


def _tried(step: Callable[[], bool | None]) -> bool | None:
    """Return what a step of the planner's work returned; a fault is logged, and costs a pause."""
    try:
        return step()
    except Exception:
        # Whatever it is, the days of others are planned meanwhile, and this one is tried again.
        logging.getLogger("service.cli").exception("planning behind failed")
        time.sleep(AFTER_A_FAULT_S)
        return None
