"""Stand-ins for the repositories of firms, of who calls, and of what was said to whom."""

from dataclasses import replace

from service.storage import json_text
from service.usecases.base.ports.kept_answers import KeptAnswer
from tests.in_memory.records import matches


class Firms:
    def __init__(self, kept):
        self._kept = kept

    def get(self, firm_id):
        return self._kept.get(firm_id)

    def add(self, firm):
        self._kept[firm.id] = firm

    def all(self):
        return sorted(self._kept.values(), key=lambda firm: firm.id)


class ApiKeys:
    def __init__(self, kept):
        self._kept = kept

    def find(self, secret_sha256):
        found = self._kept.get(secret_sha256)
        return None if found is None or found.revoked_at is not None else found

    def add(self, key):
        self._kept[key.secret_sha256] = key

    def all(self, firm_id):
        return [key for key in self._kept.values() if key.firm_id == firm_id]

    def get(self, firm_id, key_id):
        return next((key for key in self.all(firm_id) if key.id == key_id), None)

    def _change(self, firm_id, key_id, **changes):
        key = self.get(firm_id, key_id)
        if key is not None:
            self._kept[key.secret_sha256] = replace(key, **changes)
        return key is not None

    def revoke(self, firm_id, key_id, at):
        key = self.get(firm_id, key_id)
        return key is not None and self._change(firm_id, key_id, revoked_at=key.revoked_at or at)

    def expire(self, firm_id, key_id, at):
        key = self.get(firm_id, key_id)
        self._change(firm_id, key_id, expires_at=min(key.expires_at or at, at))

    def note_use(self, firm_id, key_id, at):
        self._change(firm_id, key_id, last_used_at=at)


class Sessions:
    def __init__(self, kept):
        self._kept = kept

    def _first(self, **wanted):
        return next((one for one in self._kept.values() if matches(one, wanted)), None)

    def find(self, session_id):
        return self._first(id=session_id)

    def find_by_secret(self, secret_sha256):
        return self._first(secret_sha256=secret_sha256)

    def add(self, session):
        self._kept[session.id] = session

    def join(self, joined):
        kept = self._first(id=joined.id, joined_at=None, ended_at=None)
        if kept is not None:
            self._kept[kept.id] = joined
        return kept is not None

    def all(self, firm_id):
        return [one for one in self._kept.values() if one.firm_id == firm_id]

    def end(self, firm_id, session_id, at):
        kept = self._first(firm_id=firm_id, id=session_id)
        if kept is not None:
            self._kept[kept.id] = replace(kept, ended_at=kept.ended_at or at)
        return kept is not None


class Amendments:
    def __init__(self, kept):
        self._kept = kept

    def add(self, amendment):
        # As a database gives it back: what was a record is a dictionary, a word is plain text.
        kept = json_text.read(json_text.written(amendment.changes))
        self._kept[amendment.id] = replace(amendment, changes=kept)

    def of(self, firm_id, *record_ids):
        own = [a for a in self._kept.values() if a.firm_id == firm_id]
        found = [a for a in own if a.record_id in record_ids]
        return sorted(found, key=lambda amendment: (amendment.record_version, amendment.id))


class Answers:
    def __init__(self, kept):
        self._kept = kept

    def get(self, firm_id, key):
        return self._kept.get((firm_id, key))

    def unfinished(self, firm_id, keys_begin):
        own = [one for one in self._kept.values() if one.firm_id == firm_id and one.status is None]
        found = [one for one in own if one.key.startswith(keys_begin)]
        return sorted(found, key=lambda answer: answer.key)

    def begin(self, answer):
        if (answer.firm_id, answer.key) in self._kept:
            return False
        self._kept[answer.firm_id, answer.key] = answer
        return True

    def restart(self, answer, *, started_at):
        kept = self.get(answer.firm_id, answer.key)
        if kept is None or kept.status is not None or kept.started_at != answer.started_at:
            return False
        self._kept[answer.firm_id, answer.key] = replace(kept, started_at=started_at)
        return True

    def finish(self, firm_id, key, *, status, headers, body):
        kept: KeptAnswer = self._kept[firm_id, key]
        self._kept[firm_id, key] = replace(kept, status=status, headers=dict(headers), body=body)

    def forget(self, firm_id, key):
        self._kept.pop((firm_id, key), None)
