"""The door of every operation: whose key, what it may do, and answers given once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, Final

from flask import Response, current_app, g, request
from werkzeug.exceptions import HTTPException

from service.api.exchange.bodies import JSON, content_of
from service.api.exchange.budgets import Budgets
from service.api.exchange.documented import View, document_of, with_document
from service.api.exchange.together import read_first, together
from service.api.exchange.written_answers import WrittenAnswers
from service.api.failures.faults import Place, located, refused
from service.api.failures.problems import answer_to
from service.api.failures.refusals import (
    CredentialsMissing,
    CredentialsNotValid,
    KeyOfNobody,
    NotAcceptable,
    RequestNotUsable,
)
from service.core.callers.access import SCOPES, Act, Caller, refuse_unless_allowed
from service.core.errors import Refusal
from service.core.records import Identifiers
from service.planning.arrays.compiled import PlannerAwaited
from service.usecases.base.idempotency import Answer, AnswerOnce
from service.usecases.base.whose import working_for
from service.usecases.records.callers.api_keys import FindCaller

KEY_HEADER: Final = "Idempotency-Key"
REPLAYED_HEADER: Final = "Idempotency-Replayed"
LONGEST_KEY: Final = 255
UNKNOWN: Final = "unknown_field"
SECURITY: Final[list[dict[str, list[str]]]] = [{"firm_key": []}]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Who asks, and where the ids of what is made now come from (None: any fresh ones)."""

    caller: Caller
    identifiers: Identifiers | None = None


class Door:
    """Lets a request in: its key, its act, its Accept header, its idempotency key."""

    def __init__(
        self, *, find_caller: FindCaller, answer_once: AnswerOnce, budgets: Budgets
    ) -> None:
        """Take the use cases that know keys and kept answers, and what callers may spend."""
        self._budgets = budgets
        self._find_caller = find_caller
        self._answer_once = answer_once
        self.written = WrittenAnswers()

    def admits(
        self, act: Act, *, makes: tuple[str, ...] = (JSON,), once: bool = True
    ) -> Callable[[View], View]:
        """Return a decorator that hands a view who asks, as its first argument.

        Parameters
        ----------
        act
            What the view does: a key whose role does not include it is refused.
        makes
            Media types the view can answer with.
        once
            Whether the answer to a POST may be kept for its idempotency key; not one that holds a
            secret.
        """

        def decorate(view: View) -> View:
            @wraps(view)
            def enter(**path: Any) -> Any:
                caller = self._admitted(act)
                g.budget_left = self._budgets.take(caller)
                with working_for(caller.firm_id), self._budgets.computing(caller):
                    return answered(caller, path)

            takes_query = any(
                one.get("in") == "query"
                for one in document_of(view).get("arguments", {}).get("parameters", ())
            )

            def read_key() -> str | None:
                if request.method in {"GET", "HEAD"} or takes_query:
                    return _key(once=once)
                return together(lambda: _key(once=once), _refuse_parameters)[0]  # type: ignore[no-any-return] # what _key returns

            def answered(caller: Caller, path: dict[str, Any]) -> Any:
                refuse_unless_acceptable(makes)
                asked = Asked(caller=caller)
                key = read_first(read_key, view, asked, path)
                if key is None:
                    return view(asked, **path)
                return self._answered_once(caller, key, view, path)

            document = document_of(view)
            document.setdefault("manual_doc", {}).update(
                {"security": SECURITY} if once else {"security": SECURITY, "answered_anew": True}
            )
            return with_document(enter, document)

        return decorate

    def _admitted(self, act: Act) -> Caller:
        authorization = request.authorization
        if authorization is None or authorization.type != "bearer" or not authorization.token:
            raise CredentialsMissing
        caller = self._find_caller(authorization.token)
        if caller is None:
            # Counted after the look: behind a proxy all have one address, and who guesses there
            # must not shut out who has a key.
            self._budgets.refuse_guessing(request.remote_addr or "")
            raise CredentialsNotValid
        if caller.role in SCOPES and caller.scope is None:
            raise KeyOfNobody(role=caller.role.value)
        refuse_unless_allowed(caller.role, act)
        return caller

    def _answered_once(self, caller: Caller, key: str, view: View, path: dict[str, Any]) -> Any:
        def make_answer(identifiers: Identifiers) -> Answer:
            asked = Asked(caller=caller, identifiers=identifiers)
            return _kept_form(_answer_or_problem(view, asked, path))

        body = content_of(request)
        line = f"{request.method} {request.full_path} {request.mimetype}\n"
        answer = self._answer_once(
            caller, key=key, request=line.encode() + body, make_answer=make_answer
        )
        response = Response(answer.body, status=answer.status, headers=dict(answer.headers))
        if answer.replayed:
            response.headers[REPLAYED_HEADER] = "true"
        return response


def refuse_unless_acceptable(makes: tuple[str, ...]) -> None:
    """Refuse a request that takes none of the media types made here (RFC 9110, 15.5.7)."""
    if request.accept_mimetypes and request.accept_mimetypes.best_match(makes) is None:
        raise NotAcceptable(offered=" or ".join(makes))


def _key(*, once: bool) -> str | None:
    """Return the key a POST is answered once for, if there is one: 1 to 255 visible characters."""
    key = request.headers.get(KEY_HEADER)
    if key is None or (once and request.method != "POST"):
        return None
    if not once:
        detail = "The answer holds a secret and is kept nowhere; send this request without it."
        fault = refused(detail, code="not_taken_here")
    elif not 1 <= len(key) <= LONGEST_KEY or not all("!" <= letter <= "~" for letter in key):
        fault = refused(f"Write 1 to {LONGEST_KEY} visible ASCII characters without spaces.")
    else:
        return key
    raise RequestNotUsable(located({KEY_HEADER: fault.messages}, place=Place.HEADER))


def _refuse_parameters() -> None:
    """Refuse what stands behind the question mark where nothing is asked for there."""
    fault = refused(
        "There is no such parameter; nothing is taken behind the address.", code=UNKNOWN
    )
    messages = dict.fromkeys(request.args, fault.messages)
    if messages:
        raise RequestNotUsable(located(messages, place=Place.QUERY))


def _answer_or_problem(view: View, asked: Asked, path: dict[str, Any]) -> Response:
    """Return the view's answer; a refusal is an answer too, and is kept like one."""
    try:
        return current_app.make_response(view(asked, **path))
    except PlannerAwaited:
        raise  # somebody else may answer; nothing is kept of this try
    except (Refusal, HTTPException) as error:
        return answer_to(error)


def _kept_form(response: Response) -> Answer:
    headers = {name: value for name, value in response.headers if name != "Content-Length"}
    return Answer(status=response.status_code, headers=headers, body=response.get_data())
