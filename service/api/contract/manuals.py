"""The manual: the contract as a page, from files of this installation alone."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Final

from flask import Blueprint, Response, abort, redirect, send_from_directory
from werkzeug.wrappers import Response as AnyResponse

# The bundle writes style attributes; scripts come from this service alone.
_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; connect-src 'self'; frame-ancestors 'none'"
)
_FILES: Final = ("swagger-ui.css", "swagger-ui-bundle.js", "favicon-32x32.png")
_PAGE: Final = """\
<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>clipping-dispatch: the contract</title>
<link rel="icon" href="/docs/favicon-32x32.png">
<link rel="stylesheet" href="/docs/swagger-ui.css">
<main id="contract"><noscript>The contract itself is at
<a href="/openapi.json">/openapi.json</a>.</noscript></main>
<script src="/docs/swagger-ui-bundle.js"></script>
<script src="/docs/start.js"></script>
</html>
"""
_START: Final = """\
SwaggerUIBundle({
  url: "/openapi.json",
  dom_id: "#contract",
  deepLinking: true,
  validatorUrl: null,
});
"""


def manual_routes() -> Blueprint:
    """Return the page and its files."""
    routes = Blueprint("manual", __name__)
    folder = Path(str(files("flask_swagger_ui") / "dist"))

    @routes.get("/")
    def door() -> AnyResponse:
        return redirect("/docs", 303)

    @routes.get("/docs")
    def page() -> Response:
        response = Response(_PAGE, mimetype="text/html")
        response.headers["Content-Security-Policy"] = _POLICY
        return response

    @routes.get("/docs/start.js")
    def start() -> Response:
        return Response(_START, mimetype="text/javascript")

    @routes.get("/docs/<name>")
    def file(name: str) -> Response:
        if name not in _FILES:
            abort(404)
        return send_from_directory(folder, name, max_age=86_400)

    return routes
