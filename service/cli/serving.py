"""Serve the HTTP interface with gunicorn."""

from __future__ import annotations

import os
import signal
import threading
from argparse import Namespace
from collections.abc import Mapping
from typing import Any, Final

import structlog
from flask import Flask
from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped] # ships no types

from service import logs
from service.bootstrap import build_app_from_env
from service.cli.reading import ReadingWorker
from service.planning.arrays.compiled import is_awaited, take_over
from service.planning.warm import is_kept, start_making, warm
from service.settings import PREFIX, Settings

# A plan is made while its caller waits; see the longest `plan_seconds` of the settings.
ANSWER_WITHIN_S: Final = 30
THREADS: Final = 4


class _Server(BaseApplication):  # type: ignore[misc] # see the import
    """Gunicorn with the settings of this command, and none from files or its own variables."""

    def __init__(self, environment: Mapping[str, str], options: Mapping[str, Any]) -> None:
        self._environment = environment
        self._options = options
        super().__init__()

    def load_config(self) -> None:
        """Take the options of the command."""
        for name, value in self._options.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        """Return the application; each worker builds its own, with its own connections."""
        return build_app_from_env(self._environment)


def serve(called: Namespace, environment: Mapping[str, str]) -> None:
    """Serve until the process is told to end.

    Raises
    ------
    SettingsRefused
    """
    if called.database_url is not None:
        environment = {**environment, f"{PREFIX}DATABASE_URL": called.database_url}
    settings = Settings.from_env(environment)
    logs.configure(level=settings.log_level, log_format=settings.log_format)
    if is_awaited() and is_kept():
        _go_over()  # before the workers are forked: they share what is loaded
    elif is_awaited():
        threading.Thread(target=_compile_behind, daemon=True).start()
    _Server(environment, _options(called, settings)).run()


def _go_over() -> None:
    take_over()
    seconds = round(warm(), 1)
    structlog.stdlib.get_logger("service.cli").info("planner_ready", seconds=seconds)


def _compile_behind() -> None:
    """Compile in a process of its own; then let workers that share the code replace these."""
    structlog.stdlib.get_logger("service.cli").warning(
        "planner_compiling",
        note="once on this machine, for minutes; records are taken, plans answer 503 until then",
    )
    start_making().wait()
    _go_over()  # what could not be kept is compiled here
    os.kill(os.getpid(), signal.SIGHUP)  # gunicorn's word for new workers


def _options(called: Namespace, settings: Settings) -> dict[str, Any]:
    return {
        "bind": f"{called.host}:{called.port}",
        "workers": called.workers,
        "worker_class": ReadingWorker,
        "threads": THREADS,
        "timeout": ANSWER_WITHIN_S,
        "graceful_timeout": ANSWER_WITHIN_S,
        "proc_name": "clipping-dispatch",
        # It would be kept in the user's home, where a container has none.
        "control_socket_disable": True,
        "logconfig_dict": logs.logging_tree(
            level=settings.log_level, log_format=settings.log_format
        ),
    }
