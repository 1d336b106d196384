"""The door for WSGI servers: ``gunicorn "service.wsgi:make_app()"``."""

import os

from flask import Flask

from service.bootstrap import build_app_from_env


def make_app() -> Flask:
    """Return the application that this process's environment describes."""
    return build_app_from_env(os.environ)
