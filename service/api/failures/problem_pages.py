"""Pages that explain each kind of problem: where the ``type`` of a problem leads."""

from __future__ import annotations

import inspect
import re
from html import escape
from typing import Final

from flask import Blueprint, Response, abort

from service.api.failures.problems import STATUS, all_refusals, title_of, told_codes, type_of
from service.documents.rendering.page_policy import style_source

_STYLE: Final = """\
:root { color-scheme: light dark; font: 1.125rem/1.5 system-ui, sans-serif; }
main { max-width: 40rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; }
li { margin: 0.5rem 0; }
blockquote { margin: 0 0 1rem; padding: 0.5rem 1rem; border-left: 0.25rem solid; }
"""
_POLICY: Final = f"default-src 'none'; style-src {style_source(_STYLE)}; frame-ancestors 'none'"
_FILLED_IN: Final = re.compile(r"\{(\w+)[^}]*\}")
_PAGE: Final = """\
<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>{style}</style>
<main>
<h1>{title}</h1>
{body}
</main>
</html>
"""


def problem_routes() -> Blueprint:
    """Return the list of problems and a page for each."""
    routes = Blueprint("problems", __name__)

    @routes.get("/problems")
    def problems() -> Response:
        lines = "".join(
            f'<li><a href="{type_of(code)}">{title_of(code)}</a> ({int(STATUS[code])})</li>\n'
            for code in told_codes()
        )
        return _page("Problems", f"<ul>\n{lines}</ul>")

    @routes.get("/problems/<slug>")
    def problem(slug: str) -> Response:
        code = slug.replace("-", "_")
        if code not in told_codes() or "_" in slug:
            abort(404)
        kinds = [kind for kind in all_refusals() if kind.code == code]
        status = f"<p>Status {int(STATUS[code])}, code <code>{code}</code>.</p>"
        every = '<p><a href="/problems">All problems</a></p>'
        return _page(title_of(code), "\n".join((*map(_explained, kinds), status, every)))

    return routes


def _explained(kind: type[Exception]) -> str:
    """Return what a kind of problem is about, and its detail with words for what is filled in."""
    about = (inspect.getdoc(kind) or "").split("\n\n", 1)[0]
    pattern = escape(str(getattr(kind, "sentence", "")))
    detail = _FILLED_IN.sub(lambda found: f"<var>{found[1].replace('_', ' ')}</var>", pattern)
    filled = ", with the words in italics filled in" if detail != pattern else ""
    return (
        f"<p>{escape(about)}</p>\n<p>Its detail reads{filled}:</p>\n"
        f"<blockquote>{detail}</blockquote>"
    )


def _page(title: str, body: str) -> Response:
    page = _PAGE.format(title=escape(title), style=_STYLE, body=body)
    response = Response(page, mimetype="text/html")
    response.headers["Content-Security-Policy"] = _POLICY
    return response
