"""Answer a request once, however often it is sent with the same idempotency key."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from hashlib import sha256
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import Refusal
from service.core.records import Identifiers
from service.usecases.base.ports.kept_answers import KeptAnswer
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Changing

# How long an answer is kept for a retry; common practice, no source: a telephone that lay in a
# drawer over a long week-end still sends what it kept, and hears what the first try was told.
ANSWERS_LAST = timedelta(days=7)
UNFINISHED_LEASE = timedelta(seconds=60)
FIRST_SERVER_ERROR = 500


class KeyReusedForAnotherRequest(Refusal):
    """The same key came with another body, method or path."""

    code = "idempotency_key_reused"
    sentence = "{what} was used for another request; use a new one."


class FirstTryUnfinished(Refusal):
    """The first request with this key is still being worked on."""

    code = "first_try_unfinished"
    sentence = "The first request with this Idempotency-Key is still being answered; try again."


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A finished HTTP answer, as bytes, so that a replay is the same to the letter."""

    status: int
    headers: Mapping[str, str]
    body: bytes
    replayed: bool = False


class SeededIdentifiers:
    """Makes the same ids again for the same seed: a retry after a crash finds its own work.

    The time part of the UUIDv7 is the seed's; the random part is a hash of seed and count.
    """

    def __init__(self, seed_id: UUID) -> None:
        """Start counting from the seed."""
        self._seed = seed_id
        self._count = 0

    def next_id(self) -> UUID:
        """Return the next id of the series."""
        self._count += 1
        tail = sha256(self._seed.bytes + self._count.to_bytes(8, "big")).digest()
        raw = bytearray(self._seed.bytes[:6] + tail[:10])
        raw[6] = 0x70 | (raw[6] & 0x0F)
        raw[8] = 0x80 | (raw[8] & 0x3F)
        return UUID(bytes=bytes(raw))


class AnswerOnce(Changing):
    """Keep the first answer to an idempotency key and replay it."""

    def __call__(
        self,
        caller: Caller,
        *,
        key: str,
        request: bytes,
        make_answer: Callable[[Identifiers], Answer],
        keep_refusals: bool = True,
    ) -> Answer:
        """Return the kept answer, or make it, keep it and return it.

        Parameters
        ----------
        caller
            Keys are the firm's own: another firm may use the same.
        key
            The Idempotency-Key.
        request
            Method, path, query and body, as bytes: what "the same request" means.
        make_answer
            Does the work with the ids it is given. An answer with a server error, one that
            asks to be tried again, or an exception is not kept, so that the request can be
            tried again; it makes the same ids again, so that what the first try kept is not
            kept twice.
        keep_refusals
            Whether what is refused stays what the key was used for: without it a refused
            request had no effect, and the key is as if it had not come.

        Raises
        ------
        KeyReusedForAnotherRequest, FirstTryUnfinished
        """
        digest = sha256(request).hexdigest()
        kept = self._begin(caller, key, digest)
        if kept.status is not None:
            return _replayed(kept, kept.status)
        try:
            answer = make_answer(SeededIdentifiers(kept.seed_id))
        except Exception as error:
            if isinstance(error, Refusal) and not keep_refusals:
                self._forget(kept)
            else:
                self._release(kept)
            raise
        if answer.status >= FIRST_SERVER_ERROR or "Retry-After" in answer.headers:
            self._release(kept)
            return answer
        with self.open_unit_of_work() as unit:
            unit.answers.finish(
                caller.firm_id, key, status=answer.status, headers=answer.headers, body=answer.body
            )
            unit.commit()
        return answer

    def together(
        self,
        caller: Caller,
        *,
        key: str,
        request: bytes,
        make_answer: Callable[[UnitOfWork], Answer],
    ) -> Answer:
        """Return the kept answer, or make it and keep it in one transaction with all it tells of.

        A try that is refused or cut off leaves nothing, not even its key; the next one does the
        work, or hears what the first was told.

        Raises
        ------
        KeyReusedForAnotherRequest, FirstTryUnfinished
        """
        with self.open_unit_of_work() as unit:
            answer = self.within(
                unit, caller, key=key, request=request, make_answer=lambda: make_answer(unit)
            )
            if not answer.replayed:
                unit.commit()
        return answer

    def known(self, caller: Caller, *, key: str, request: bytes) -> Answer | None:
        """Return the answer that is kept to the same request; None if there is none."""
        with self.open_unit_of_work() as unit:
            kept = unit.answers.get(caller.firm_id, key)
        if kept is None or kept.status is None:
            return None
        return (
            _replayed(kept, kept.status)
            if kept.request_sha256 == sha256(request).hexdigest()
            else None
        )

    def within(
        self,
        unit: UnitOfWork,
        caller: Caller,
        *,
        key: str,
        request: bytes,
        make_answer: Callable[[], Answer],
    ) -> Answer:
        """Return the same in a unit of work that somebody else commits. Raises as above."""
        digest = sha256(request).hexdigest()
        kept = unit.answers.get(caller.firm_id, key)
        if kept is None:
            kept = self._fresh(caller, key, digest)
            if not unit.answers.begin(kept):
                raise FirstTryUnfinished
        if kept.request_sha256 != digest:
            raise KeyReusedForAnotherRequest(what=f"The Idempotency-Key {key}")
        if kept.status is not None:
            return _replayed(kept, kept.status)
        answer = make_answer()
        unit.answers.finish(
            caller.firm_id, key, status=answer.status, headers=answer.headers, body=answer.body
        )
        return answer

    def _fresh(self, caller: Caller, key: str, digest: str) -> KeptAnswer:
        return KeptAnswer(
            firm_id=caller.firm_id,
            key=key,
            request_sha256=digest,
            seed_id=self.identifiers.next_id(),
            started_at=self.clock.now(),
        )

    def _begin(self, caller: Caller, key: str, digest: str) -> KeptAnswer:
        fresh = self._fresh(caller, key, digest)
        now = fresh.started_at
        with self.open_unit_of_work() as unit:
            kept = unit.answers.get(caller.firm_id, key)
            if kept is None:
                if unit.answers.begin(fresh):
                    unit.commit()
                    return fresh
                raise FirstTryUnfinished
            if kept.request_sha256 != digest:
                raise KeyReusedForAnotherRequest(what=f"The Idempotency-Key {key}")
            if kept.status is not None:
                return kept
            if now - kept.started_at < UNFINISHED_LEASE:
                raise FirstTryUnfinished
            if not unit.answers.restart(kept, started_at=now):
                raise FirstTryUnfinished
            unit.commit()
            return replace(kept, started_at=now)

    def _forget(self, kept: KeptAnswer) -> None:
        """Let the key come again with whatever request."""
        with self.open_unit_of_work() as unit:
            unit.answers.forget(kept.firm_id, kept.key)
            unit.commit()

    def _release(self, kept: KeptAnswer) -> None:
        """Let the next try begin at once; its seed stays."""
        with self.open_unit_of_work() as unit:
            unit.answers.restart(kept, started_at=self.clock.now() - UNFINISHED_LEASE)
            unit.commit()


def _replayed(kept: KeptAnswer, status: int) -> Answer:
    return Answer(status=status, headers=kept.headers or {}, body=kept.body or b"", replayed=True)
