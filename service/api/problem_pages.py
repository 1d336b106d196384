"""Pages that explain each kind of problem: where the ``type`` of a problem leads."""

from __future__ import annotations

import inspect
from html import escape
from typing import Final

from flask import Blueprint, Response, abort

from service.api.problems import STATUS, all_refusals, title_of, told_codes, type_of

_PAGE: Final = """\
<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<main>
<h1>{title}</h1>
{body}
<p><a href="/problems">All problems</a></p>
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
        return _page(title_of(code), "\n".join((*map(_explained, kinds), status)))

    return routes


def _explained(kind: type[Exception]) -> str:
    about = (inspect.getdoc(kind) or "").split("\n\n", 1)[0]
    pattern = str(getattr(kind, "sentence", ""))
    return f"<p>{escape(about)}</p>\n<p>Its detail reads: <q>{escape(pattern)}</q></p>"


def _page(title: str, body: str) -> Response:
    return Response(_PAGE.format(title=escape(title), body=body), mimetype="text/html")
