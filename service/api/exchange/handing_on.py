"""Requests that only the planner can answer are handed on to its process, whole."""

from __future__ import annotations

from collections.abc import Mapping
from threading import Lock
from typing import Final, Protocol

from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException

from service.api.failures.problems import answer_to
from service.planning.arrays.compiled import PlannerAwaited

# Each holds a thread here; the others must get on with records. Of one caller one at a time, so
# that nobody's questions stop everybody else's. Common practice, no source.
MOST_AT_ONCE: Final = 2
FORM: Final = "application/x-www-form-urlencoded"


class Answered(Protocol):
    """What came back."""

    @property
    def status(self) -> int:
        """Its status."""
        ...

    @property
    def headers(self) -> list[tuple[str, str]]:
        """Its header fields."""
        ...

    @property
    def body(self) -> bytes:
        """Its body."""
        ...


class HandOn(Protocol):
    """The planner's process."""

    def __call__(
        self, method: str, target: str, headers: Mapping[str, str], body: bytes
    ) -> Answered:
        """Return its answer. Raises PlannerAwaited."""
        ...


class HandingOn:
    """What a process does that plans nothing itself."""

    def __init__(self, hand_on: HandOn) -> None:
        """Take the planner's process."""
        self._hand_on = hand_on
        self._callers: set[str] = set()
        self._counting = Lock()

    def of(self, app: Flask) -> None:
        """Answer in an app what it cannot plan."""
        app.before_request(_keep_form)
        app.register_error_handler(PlannerAwaited, self._answer)

    def _answer(self, error: PlannerAwaited) -> Response:
        caller = request.headers.get("Authorization") or request.headers.get("Cookie") or ""
        with self._counting:
            if caller in self._callers or len(self._callers) >= MOST_AT_ONCE:
                return answer_to(error)
            self._callers.add(caller)
        try:
            # Whoever asks has been let in by now; the planner's process looks again.
            answer = self._hand_on(
                request.method, request.full_path, dict(request.headers), request.get_data()
            )
        except (PlannerAwaited, HTTPException):
            return answer_to(error)
        finally:
            with self._counting:
                self._callers.discard(caller)
        return Response(answer.body, status=answer.status, headers=answer.headers)


def _keep_form() -> None:
    """Keep the bytes of a form, which are gone once it is read."""
    if request.mimetype == FORM:
        request.get_data()
