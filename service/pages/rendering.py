"""Templates and assets: plain files beside this module, nothing inline, nothing from outside."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from hashlib import sha256
from http import HTTPStatus
from importlib.resources import files
from typing import Any, Final

from flask import Response
from jinja2 import Environment, FunctionLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup, escape

from service.documents.rendering.reader import Reader
from service.pages import words

ASSETS: Final = "/screens/assets"
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
KINDS: Final = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
}
# Filters that write otherwise in another language.
READ: Final = ("clock", "when", "day_name", "kg", "m3", "status", "load_state")
HEADERS: Final = {
    "Content-Security-Policy": POLICY,
    # With none at all, a browser hides from us where a form was sent from.
    "Referrer-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
    "X-Robots-Tag": "noindex",
}


def _text(folder: str, name: str) -> str:
    return files("service.pages").joinpath(folder, name).read_text(encoding="utf-8")


@cache
def asset_bytes(name: str) -> bytes:
    """Return a style sheet, script or picture. Raises FileNotFoundError."""
    return files("service.pages").joinpath("assets", name).read_bytes()


@cache
def asset(name: str) -> str:
    """Return the address of an asset; it changes with the asset, so that it may be kept."""
    return f"{ASSETS}/{name}?v={sha256(asset_bytes(name)).hexdigest()[:12]}"


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FunctionLoader(lambda name: _text("templates", name)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["asset"] = asset
    environment.filters.update(words.FILTERS)
    environment.filters.update({name: _read(name) for name in READ})
    return environment


def _read(name: str) -> Callable[..., str]:
    """Return a filter that writes as the page's reader does; in English on pages of the office."""

    @pass_context
    def told(context: Context, value: object, *more: object) -> str:
        reader = context.get("reader")
        filters = words.FILTERS if reader is None else None
        written: str = (filters[name] if filters else getattr(reader, name))(value, *more)
        return written

    return told


def _saying(reader: Reader) -> Callable[..., Markup]:
    """Return what a template says a sentence with; a gap may hold markup of its own."""

    def say(key: str, **gaps: object) -> Markup:
        filled = {
            name: gap if isinstance(gap, Markup) else reader.told(gap) for name, gap in gaps.items()
        }
        return Markup(escape(reader.text(key))).format(**filled)  # noqa: S704 - escaped before

    return say


def rendered(template: str, **values: Any) -> str:
    """Return a template filled in."""
    return _environment().get_template(template).render(**values)


def page(
    template: str, *, status: int = HTTPStatus.OK, reader: Reader | None = None, **values: Any
) -> Response:
    """Return a page, under the policy that all of them keep; in the language of its reader."""
    if reader is not None:
        values |= {"reader": reader, "say": _saying(reader)}
    response = Response(rendered(template, **values), status=status, mimetype="text/html")
    response.headers.update(HEADERS)
    if reader is not None:
        response.headers["Content-Language"] = reader.code
    return response
