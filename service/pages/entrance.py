"""The entrance of every screen: whose session, which seats, and from which page a form came."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import wraps
from http import HTTPStatus
from ipaddress import ip_address
from typing import Any, Final
from urllib.parse import urlsplit

from flask import Response, json, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.callers.sessions import Seat, Session
from service.core.errors import InternalError, Refusal
from service.documents.rendering.reader import Reader
from service.pages.needs import Needs
from service.pages.refusals import (
    NotJoined,
    NotPrivate,
    OtherOrigin,
    OtherSeat,
    in_words,
    lines_of,
)
from service.pages.rendering import HEADERS, page
from service.pages.speaking import keeps_language, spoken
from service.pages.words import SEATS
from service.usecases.base.whose import working_for
from service.usecases.records.callers.sessions import SESSION_LASTS, Joined

PROBLEM_JSON: Final = "application/problem+json"
HTML: Final = "text/html"
SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
# What ends the name of the cookie of each seat: owner and dispatcher are the office, by one cookie.
KINDS: Final = {Seat.OWNER: "", Seat.DISPATCHER: "", Seat.CREW: "-crew", Seat.SITE: "-site"}
PAGES: Final = {Seat.CREW: "/screens/round", Seat.SITE: "/screens/gate"}
SAME_ORIGIN: Final = "same-origin"

_UNUSABLE: Final = HTTPStatus(422)

View = Callable[..., Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """Who sits before the screen, by which cookie, and at a gate where its page is."""

    session: Session
    place: str = "/screens/gate"
    cookie: str = ""

    @property
    def caller(self) -> Caller:
        """Who asks, for the use cases."""
        return self.session.caller


class Entrance:
    """Lets people in by their cookie, and requests that change something from our pages alone."""

    def __init__(self, needs: Needs) -> None:
        """Take the sessions, and where the service is reached."""
        self._needs = needs
        address = urlsplit(needs.public_url)
        self._secure = address.scheme == "https"
        self._private = self._secure or _is_loopback(address.hostname or "")
        self._origin = f"{address.scheme}://{address.netloc}"
        # Cookies know no ports: two services on one machine would end each other's sessions.
        self.cookie = "__Host-session" if self._secure else f"session-{address.port or 80}"
        # One telephone may be the office's and a crew's: each kind of seat has a cookie of its own.
        self._cookies = {seat: f"{self.cookie}{suffix}" for seat, suffix in KINDS.items()}

    def admits(self, *seats: Seat) -> Callable[[View], View]:
        """Return a decorator that hands a view who sits there, as its first argument."""

        def decorate(view: View) -> View:
            @wraps(view)
            def enter(**path: Any) -> Any:
                sitting = self._sitting(seats)
                with working_for(sitting.caller.firm_id):
                    return view(sitting, **path)

            return self.guards(enter)

        return decorate

    def opens_gate(self, view: View) -> View:
        """Return the view of a gate, opened by a link without a cookie: the link is the key."""

        @wraps(view)
        def enter(token: str, **path: Any) -> Any:
            self.refuse_in_public()
            session = self._needs.keep_sessions.by_link(token)
            sitting = Sitting(session=session, place=f"/gate/{token}")
            try:
                with self._needs.spending(sitting.caller), working_for(session.firm_id):
                    response = view(sitting, **path)
            except Refusal as refusal:
                response = self.told(refusal, back=sitting.place)
            # Nothing on the way keeps what a link opens, as with a note's.
            response.headers["Cache-Control"] = "no-store"
            return response

        return self.guards(enter)

    def guards(self, view: View) -> View:
        """Return the view behind the check of where a request comes from, its refusals told."""

        @wraps(view)
        def enter(**path: Any) -> Any:
            try:
                self._refuse_other_origins()
                return view(**path)
            except Refusal as refusal:
                return self.told(refusal)

        return enter

    def lets_in(self, response: AnyResponse, joined: Joined) -> None:
        """Give the device its cookie. Raises NotPrivate."""
        name = self._cookies[joined.session.seat]
        self._set(response, name, joined.secret, max_age=int(SESSION_LASTS.total_seconds()))

    def shows_out(self, response: AnyResponse, sitting: Sitting) -> None:
        """Take the cookie away by which somebody sits there; those of other seats stay."""
        self._set(response, sitting.cookie, "", max_age=0)

    def ends_with(self, seat: Seat) -> Session | None:
        """Return the session that ends where somebody joins in a seat: one of the same kind."""
        name = self._cookies[seat]
        open_now = (one for one in self._open((seat,)) if self._cookies[one.session.seat] == name)
        return next((one.session for one in open_now), None)

    def refuse_in_public(self) -> None:
        """Refuse to let anybody in where others could listen. Raises NotPrivate."""
        if not self._private:
            raise NotPrivate(address=self._needs.public_url)

    def session(self) -> Session | None:
        """Return the open session of a cookie of the request; of several that of its page."""
        return next((one.session for one in self._open(())), None)

    def _open(self, seats: tuple[Seat, ...]) -> Iterator[Sitting]:
        """Yield who sits there by the cookies of a request, those of the wanted seats first."""
        wanted = seats or (self._seat_of_page(),)
        first = (self._cookies[seat] for seat in wanted)
        for name in dict.fromkeys((*first, *self._cookies.values())):
            secret = request.cookies.get(name)
            session = None if secret is None else self._needs.keep_sessions.find(secret)
            if session is not None:
                yield Sitting(session=session, cookie=name)

    def _seat_of_page(self) -> Seat:
        """Return whose page is asked for, or whose seat is named; the office's of any other."""
        named = request.args.get("seat")
        return next(
            (
                seat
                for seat in (Seat.CREW, Seat.SITE)
                if named == seat or request.path.startswith(PAGES[seat])
            ),
            Seat.DISPATCHER,
        )

    def told(self, refusal: Refusal, *, back: str | None = None) -> Response:
        """Return a refusal as a page, or as problem details where a script asked for those.

        Parameters
        ----------
        back
            Where a link leads back to; None for who comes with a cookie, or with nothing.
        """
        problem = self._needs.problem_of(refusal)
        if problem["status"] >= HTTPStatus.INTERNAL_SERVER_ERROR:
            if problem["status"] == HTTPStatus.INTERNAL_SERVER_ERROR or not self.asks_for_a_page():
                raise refusal
            return self._broken(refusal)
        session = None if back else self.session()
        reader = self._reader(session)
        if back is None and session is not None and not isinstance(refusal, NotJoined):
            back = "/screens"
        if reader is not None:
            problem = in_words(refusal, problem, reader)
        if not self.asks_for_a_page():
            response = _as_problem(problem)
        else:
            response = page(
                "refusal.html.j2",
                status=problem["status"],
                reader=reader,
                title=problem["title"],
                lines=[*lines_of(problem), *_still_typed(problem, reader)],
                back=back,
            )
        if "retry_after_s" in refusal.facts:
            response.headers["Retry-After"] = str(refusal.facts["retry_after_s"])
        return response

    def tells_what_broke(self, _: Exception) -> AnyResponse:
        """Return a bug, which is in the log by now, to people as a page and to scripts as ever."""
        if self.asks_for_a_page():
            return self._broken(InternalError())
        return _as_problem(self._needs.problem_of(InternalError()))

    def _broken(self, refusal: Refusal) -> Response:
        """Return that something broke, in the browser's language: no record is read for it."""
        problem = self._needs.problem_of(refusal)
        reader = spoken()
        told = in_words(refusal, problem, reader)
        return page(
            "refusal.html.j2",
            status=problem["status"],
            reader=reader,
            title=told["title"],
            lines=lines_of(told),
            back=None,
        )

    def _reader(self, session: Session | None) -> Reader | None:
        """Return who reads a refusal: a crew its own language; the office none but English."""
        if session is None or session.seat is Seat.SITE:
            return spoken()
        if session.crew_id is None:
            return None
        with working_for(session.firm_id):
            crew = self._needs.library.crews.read(session.caller, session.crew_id)
        return Reader(crew.language)

    def keeps_language(self, response: AnyResponse) -> AnyResponse:
        """Return the response; the device keeps the language that was chosen on the page."""
        return keeps_language(response, secure=self._secure)

    def asks_for_a_page(self) -> bool:
        """Return whether a browser asks for a page, and not a script or program for data."""
        wanted = request.accept_mimetypes.best_match((HTML, PROBLEM_JSON, "application/json"))
        return wanted == HTML

    def _sitting(self, seats: tuple[Seat, ...]) -> Sitting:
        others: list[Session] = []
        for sitting in self._open(seats):
            if not seats or sitting.session.seat in seats:
                return sitting
            others.append(sitting.session)
        if not others:
            raise NotJoined
        raise OtherSeat(seat=SEATS[others[0].seat.value], seat_id=others[0].seat.value)

    def _refuse_other_origins(self) -> None:
        """Refuse what changes something unless the browser says it comes from a page of ours.

        A cookie is sent from another port of the same host, too: SameSite does not know ports
        (RFC 6265, 8.5). Sec-Fetch-Site (W3C Fetch Metadata) does, and so does Origin.
        """
        if request.method in SAFE:
            return
        site = request.headers.get("Sec-Fetch-Site")
        origin = request.headers.get("Origin")
        ours = {self._origin, request.host_url.rstrip("/")}
        if site is not None and site != SAME_ORIGIN:
            raise OtherOrigin
        if origin is not None and origin not in ours:
            raise OtherOrigin
        if site is None and origin is None:
            raise OtherOrigin

    def _set(self, response: AnyResponse, name: str, secret: str, *, max_age: int) -> None:
        response.set_cookie(
            name,
            secret,
            max_age=max_age,
            path="/",
            secure=self._secure,
            httponly=True,
            samesite="Lax",
        )


def _still_typed(problem: Mapping[str, Any], reader: Reader | None) -> list[str]:
    """Return where what was typed is: a browser keeps a form as it was sent."""
    is_form = request.method == "POST" and problem["status"] == _UNUSABLE
    return ["What you filled in is still there one page back."] if is_form and not reader else []


def _as_problem(problem: Mapping[str, Any]) -> Response:
    response = Response(json.dumps(problem), mimetype=PROBLEM_JSON, status=problem["status"])
    response.headers.update(HEADERS)
    return response


def _is_loopback(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
