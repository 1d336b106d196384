"""Firms, keys, sessions, the trail of changes, and the answers kept for idempotency keys."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, bindparam, func, or_, select, update

from service.core.callers.access import Amendment, ApiKey, Firm
from service.core.callers.sessions import Session
from service.core.errors import RecordExists
from service.storage.faults import keeping
from service.storage.mapping import AnyKept, RecordMapping
from service.storage.repositories.connected import Connected
from service.storage.tables.access import AmendmentRow, AnswerRow, ApiKeyRow, FirmsRow, SessionRow
from service.usecases.base.ports.kept_answers import KeptAnswer

FIRMS = RecordMapping(Firm, FirmsRow, "firm")
API_KEYS = RecordMapping(ApiKey, ApiKeyRow, "key")
SESSIONS = RecordMapping(Session, SessionRow, "session")
AMENDMENTS = RecordMapping(Amendment, AmendmentRow, "amendment")
ANSWERS = RecordMapping(KeptAnswer, AnswerRow, "answer")
# Made once: every request asks it.
_KEY_IN_USE = API_KEYS.selected.where(
    ApiKeyRow.secret_sha256 == bindparam("secret"), ApiKeyRow.revoked_at.is_(None)
)


class TableFirms(Connected):
    """Firms."""

    def get(self, firm_id: UUID) -> Firm | None:
        """Return the firm."""
        asked = FIRMS.selected.where(FirmsRow.id == firm_id)
        row = self._connection.execute(asked).first()
        return None if row is None else FIRMS.from_row(row)

    def add(self, firm: Firm) -> None:
        """Keep a new firm. Raises RecordExists when the id is taken."""
        if not _kept(self._connection, FIRMS, firm):
            raise RecordExists(record=FIRMS.kind, id=firm.id)

    def all(self) -> list[Firm]:
        """Return every firm, ordered by id."""
        asked = FIRMS.selected.order_by(FirmsRow.id)
        return [FIRMS.from_row(row) for row in self._connection.execute(asked)]


class TableApiKeys(Connected):
    """Keys."""

    def find(self, secret_sha256: str) -> ApiKey | None:
        """Return the key that is not revoked, or None."""
        row = self._connection.execute(_KEY_IN_USE, {"secret": secret_sha256}).first()
        return None if row is None else API_KEYS.from_row(row)

    def add(self, key: ApiKey) -> None:
        """Keep a new key. Raises RecordExists when the id or the secret is taken."""
        with keeping(API_KEYS.kind, key.id):
            kept = _kept(self._connection, API_KEYS, key)
        if not kept:
            raise RecordExists(record=API_KEYS.kind, id=key.id)

    def all(self, firm_id: UUID) -> list[ApiKey]:
        """Return the firm's keys, ordered by id."""
        asked = API_KEYS.selected.where(ApiKeyRow.firm_id == firm_id).order_by(ApiKeyRow.id)
        return [API_KEYS.from_row(row) for row in self._connection.execute(asked)]

    def revoke(self, firm_id: UUID, key_id: UUID, at: datetime) -> bool:
        """Revoke a key; False when there is none. A key revoked before keeps its first time."""
        mine = (ApiKeyRow.firm_id == firm_id, ApiKeyRow.id == key_id)
        revoked = update(API_KEYS.table).where(*mine, ApiKeyRow.revoked_at.is_(None))
        if self._connection.execute(revoked.values(revoked_at=at)).rowcount:
            return True
        return self._connection.execute(select(ApiKeyRow.id).where(*mine)).first() is not None

    def get(self, firm_id: UUID, key_id: UUID) -> ApiKey | None:
        """Return a key of the firm, revoked or not."""
        mine = (ApiKeyRow.firm_id == firm_id, ApiKeyRow.id == key_id)
        row = self._connection.execute(select(*API_KEYS.columns).where(*mine)).first()
        return None if row is None else API_KEYS.from_row(row)

    def expire(self, firm_id: UUID, key_id: UUID, at: datetime) -> None:
        """Let a key end at a moment, unless it ends sooner anyway."""
        mine = (ApiKeyRow.firm_id == firm_id, ApiKeyRow.id == key_id)
        later = or_(ApiKeyRow.expires_at.is_(None), ApiKeyRow.expires_at > at)
        ends = update(API_KEYS.table).where(*mine, later)
        self._connection.execute(ends.values(expires_at=at))

    def note_use(self, firm_id: UUID, key_id: UUID, at: datetime) -> None:
        """Keep when a key was last used."""
        mine = (ApiKeyRow.firm_id == firm_id, ApiKeyRow.id == key_id)
        self._connection.execute(update(API_KEYS.table).where(*mine).values(last_used_at=at))


class TableSessions(Connected):
    """Sessions; joining and ending are one compare-and-set statement each."""

    def find(self, session_id: UUID) -> Session | None:
        """Return a session by its id alone: for the signed link, whose signature is the key."""
        return self._found(SessionRow.id == session_id)

    def find_by_secret(self, secret_sha256: str) -> Session | None:
        """Return the session of a cookie, ended or not."""
        return self._found(SessionRow.secret_sha256 == secret_sha256)

    def add(self, session: Session) -> None:
        """Keep a new session. Raises RecordExists when the id is taken."""
        with keeping(SESSIONS.kind, session.id):
            kept = _kept(self._connection, SESSIONS, session)
        if not kept:
            raise RecordExists(record=SESSIONS.kind, id=session.id)

    def join(self, joined: Session) -> bool:
        """Keep that a link was used; False if it was before (also by a rival just now)."""
        used = (
            update(SESSIONS.table)
            .where(
                SessionRow.firm_id == joined.firm_id,
                SessionRow.id == joined.id,
                SessionRow.joined_at.is_(None),
                SessionRow.ended_at.is_(None),
            )
            .values(
                joined_at=joined.joined_at,
                secret_sha256=joined.secret_sha256,
                until=joined.until,
            )
        )
        return self._connection.execute(used).rowcount == 1

    def all(self, firm_id: UUID) -> list[Session]:
        """Return the firm's sessions, ordered by id."""
        mine = SessionRow.firm_id == firm_id
        asked = SESSIONS.selected.where(mine).order_by(SessionRow.id)
        return [SESSIONS.from_row(row) for row in self._connection.execute(asked)]

    def end(self, firm_id: UUID, session_id: UUID, at: datetime) -> bool:
        """End a session; False when there is none. One ended before keeps its first time."""
        mine = (SessionRow.firm_id == firm_id, SessionRow.id == session_id)
        ended = update(SESSIONS.table).where(*mine, SessionRow.ended_at.is_(None))
        if self._connection.execute(ended.values(ended_at=at)).rowcount:
            return True
        return self._connection.execute(select(SessionRow.id).where(*mine)).first() is not None

    def _found(self, condition: ColumnElement[bool]) -> Session | None:
        row = self._connection.execute(SESSIONS.selected.where(condition)).first()
        return None if row is None else SESSIONS.from_row(row)


class TableAmendments(Connected):
    """The trail of changes: it only grows."""

    def add(self, amendment: Amendment) -> None:
        """Keep one."""
        with keeping(AMENDMENTS.kind, amendment.id):
            kept = _kept(self._connection, AMENDMENTS, amendment)
        if not kept:
            raise RecordExists(record=AMENDMENTS.kind, id=amendment.id)

    def of(self, firm_id: UUID, *record_ids: UUID) -> list[Amendment]:
        """Return the changes of some records, of each the oldest first."""
        asked = AMENDMENTS.selected.where(
            AmendmentRow.firm_id == firm_id, AmendmentRow.record_id.in_(record_ids)
        ).order_by(AmendmentRow.record_version, AmendmentRow.id)
        return [AMENDMENTS.from_row(row) for row in self._connection.execute(asked)]


class TableAnswers(Connected):
    """Answers kept for idempotency keys; each change is one compare-and-set statement."""

    def get(self, firm_id: UUID, key: str) -> KeptAnswer | None:
        """Return what is kept for the key."""
        asked = ANSWERS.selected.where(AnswerRow.firm_id == firm_id, AnswerRow.key == key)
        row = self._connection.execute(asked).first()
        return None if row is None else ANSWERS.from_row(row)

    def unfinished(self, firm_id: UUID, keys_begin: str) -> list[KeptAnswer]:
        """Return the unfinished answers whose keys begin with some words, by key."""
        asked = ANSWERS.selected.where(
            AnswerRow.firm_id == firm_id,
            # LIKE would take capitals for small letters on one of the databases.
            func.substr(AnswerRow.key, 1, len(keys_begin)) == keys_begin,
            AnswerRow.status.is_(None),
        )
        found = (ANSWERS.from_row(row) for row in self._connection.execute(asked))
        return sorted(found, key=lambda answer: answer.key)

    def begin(self, answer: KeptAnswer) -> bool:
        """Keep an unfinished answer; False if the key is taken (also by a rival just now)."""
        return _kept(self._connection, ANSWERS, answer)

    def restart(self, answer: KeptAnswer, *, started_at: datetime) -> bool:
        """Take over an unfinished answer; False if somebody else just did."""
        taken = (
            update(ANSWERS.table)
            .where(
                AnswerRow.firm_id == answer.firm_id,
                AnswerRow.key == answer.key,
                AnswerRow.status.is_(None),
                AnswerRow.started_at == answer.started_at,
            )
            .values(started_at=started_at)
        )
        return self._connection.execute(taken).rowcount == 1

    def finish(
        self, firm_id: UUID, key: str, *, status: int, headers: Mapping[str, str], body: bytes
    ) -> None:
        """Keep the answer; the first one stays, whoever comes with a second."""
        finished = (
            update(ANSWERS.table)
            .where(AnswerRow.firm_id == firm_id, AnswerRow.key == key, AnswerRow.status.is_(None))
            .values(status=status, headers=dict(headers), body=body)
        )
        self._connection.execute(finished)

    def forget_before(self, moment: datetime) -> None:
        """Drop every firm's answers to requests that began before then."""
        self._connection.execute(ANSWERS.table.delete().where(AnswerRow.started_at < moment))

    def forget(self, firm_id: UUID, key: str) -> None:
        """Drop an unfinished answer whose request was refused before it had any effect."""
        unfinished = ANSWERS.table.delete().where(
            AnswerRow.firm_id == firm_id, AnswerRow.key == key, AnswerRow.status.is_(None)
        )
        self._connection.execute(unfinished)


def _kept(connection: Connection, mapping: RecordMapping[AnyKept], record: AnyKept) -> bool:
    """Keep the record unless its primary key is taken; say whether it was kept."""
    done = connection.execute(mapping.insert[connection.dialect.name], mapping.to_row(record))
    return done.rowcount == 1
