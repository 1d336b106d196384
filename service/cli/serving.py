"""Serve the HTTP interface with gunicorn, and keep one planner process beside it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import threading
from argparse import Namespace
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Final

import structlog

from service import logs
from service.bootstrap import build_app_from_env
from service.cli.reading import ReadingWorker
from service.cli.web_server import WebServer, options_of
from service.settings import PREFIX, Settings

THREADS: Final = 4
SOCKET: Final = "planner.socket"
SHARED_COUNTS: Final = "PROMETHEUS_MULTIPROC_DIR"
BEGINS_AGAIN_AFTER_S: Final = 1.0
ENDS_WITHIN_S: Final = 40
_PROGRAM: Final = "import sys; from service.cli import main; sys.exit(main())"


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
    address = f"http://{called.host}:{called.port}"
    log = structlog.stdlib.get_logger("service.cli")
    # Links that nobody chose an address for may open nothing.
    is_meant = f"{PREFIX}PUBLIC_URL" in environment or settings.public_url == address
    (log.info if is_meant else log.warning)(
        "serving", listens_at=address, links_carry=settings.public_url
    )
    with own_folder() as folder:
        socket = folder / SOCKET  # nobody else may look into the folder
        if settings.metrics_key is not None:
            environment = _counting_together(environment, folder)
        planner = _Planner(environment, socket)
        options = options_of(
            settings,
            worker_class=ReadingWorker,
            bind=f"{called.host}:{called.port}",
            workers=called.workers,
            threads=THREADS,
            proc_name="clipping-dispatch",
        )
        try:
            WebServer(lambda: build_app_from_env(environment, planner=socket), options).run()
        finally:
            planner.end()


@contextmanager
def own_folder() -> Iterator[Path]:
    """Make a folder that goes with the process that made it, and with none of its workers.

    A worker is a fork of it, and comes through here when it ends: what others count and listen in
    is not its own to take away.
    """
    owner = os.getpid()
    folder = Path(tempfile.mkdtemp(prefix="clipping-dispatch-"))
    try:
        yield folder
    finally:
        if os.getpid() == owner:
            shutil.rmtree(folder, ignore_errors=True)


def _counting_together(environment: Mapping[str, str], folder: Path) -> Mapping[str, str]:
    """Have all processes count into one folder, so that each of them can tell of all."""
    shared = folder / "measures"
    shared.mkdir()
    # Read by the library in each process that is begun from here, when it is first imported.
    os.environ[SHARED_COUNTS] = str(shared)
    return {**environment, SHARED_COUNTS: str(shared)}


class _Planner:
    """The planner's process, begun again when it ends."""

    def __init__(self, environment: Mapping[str, str], socket: Path) -> None:
        self._environment = environment
        self._socket = socket
        self._process: subprocess.Popen[bytes] | None = None
        self._ended = threading.Event()
        self._owner = os.getpid()
        threading.Thread(target=self._keep, daemon=True).start()

    def end(self) -> None:
        """End it, if this is the process that began it and not one of its workers."""
        if os.getpid() != self._owner:
            return
        self._ended.set()
        process = self._process
        if process is not None and process.poll() is None:
            process.terminate()
            try:
                process.wait(ENDS_WITHIN_S)
            except subprocess.TimeoutExpired:
                process.kill()

    def _keep(self) -> None:
        while not self._ended.is_set():
            self._process = subprocess.Popen(  # noqa: S603 - this very program
                [sys.executable, "-c", _PROGRAM, "plan", "--socket", str(self._socket)],
                env=dict(self._environment),
                stdin=subprocess.PIPE,  # it ends when this is closed, however this process ends
            )
            self._process.wait()
            if not self._ended.wait(BEGINS_AGAIN_AFTER_S):
                structlog.stdlib.get_logger("service.cli").warning("planner_begun_again")
