"""Gunicorn with the settings of a command, and none from files or its own variables."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from flask import Flask
from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped] # ships no types

from service import logs
from service.settings import Settings

ANSWER_WITHIN_S: Final = 30


class WebServer(BaseApplication):  # type: ignore[misc] # see the import
    """Serves what each worker makes for itself, with its own connections."""

    def __init__(self, make: Callable[[], Flask], options: Mapping[str, Any]) -> None:
        self._make = make
        self._options = options
        super().__init__()

    def load_config(self) -> None:
        """Take the options of the command."""
        for name, value in self._options.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        """Return the application of a worker."""
        return self._make()


def options_of(settings: Settings, **more: object) -> dict[str, Any]:
    """Return the options of all our servers, and some more."""
    return {
        "worker_class": "gthread",
        "timeout": ANSWER_WITHIN_S,
        "graceful_timeout": ANSWER_WITHIN_S,
        # It would be kept in the user's home, where a container has none.
        "control_socket_disable": True,
        "logconfig_dict": logs.logging_tree(
            level=settings.log_level, log_format=settings.log_format
        ),
        **more,
    }
