"""The page that Prometheus reads, and the counting of answers for it: only where it is wanted."""

from __future__ import annotations

import time
from collections.abc import Callable
from hmac import compare_digest
from typing import Final, Protocol

from flask import Blueprint, Flask, Response, g, request

from service.api.exchange.budgets import Budgets
from service.api.failures.problems import PROBLEM_JSON
from service.api.failures.refusals import CredentialsMissing, CredentialsNotValid

PLACE: Final = "/metrics"


class Answered(Protocol):
    """Hears of every answer."""

    def __call__(
        self, *, route: str, method: str, status: int, seconds: float, problem: str | None
    ) -> None:
        """Count it."""
        ...


def count_answers(app: Flask, answered: Answered) -> None:
    """Have every answer of an app counted: by its route's pattern, never by what stands in it."""

    def begin() -> None:
        g.measured_from_s = time.perf_counter()

    def end(response: Response) -> Response:
        answered(
            route="none" if request.url_rule is None else request.url_rule.rule,
            method=request.method,
            status=response.status_code,
            seconds=time.perf_counter() - g.measured_from_s,
            problem=_code_of(response),
        )
        return response

    app.before_request(begin)
    app.after_request(end)


def metric_routes(app: Flask, page: Callable[[], bytes], *, key: str, form: str) -> Blueprint:
    """Return the page behind a key of its own: no firm's key opens it, and it opens nothing else.

    It stands in no contract: it is between the operator and what watches.
    """
    routes = Blueprint("metrics", __name__)

    @routes.get(PLACE)
    def read_metrics() -> Response:
        shown = request.authorization
        if shown is None or shown.type != "bearer" or not shown.token:
            raise CredentialsMissing
        if not compare_digest(shown.token.encode(), key.encode()):
            budgets: Budgets = app.extensions["budgets"]
            budgets.refuse_guessing(request.remote_addr or "")
            raise CredentialsNotValid
        return Response(page(), content_type=form)

    return routes


def _code_of(response: Response) -> str | None:
    """Return the code of problem details."""
    if response.mimetype != PROBLEM_JSON:
        return None
    told = response.get_json(force=True, silent=True)
    return told.get("code") if isinstance(told, dict) else None
