"""Keys of a firm: made once, shown once, found by the hash of their secret, revoked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, fields
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Final
from uuid import UUID

from service.core.callers.access import SCOPES, ApiKey, Caller, Own, Role
from service.core.errors import (
    FieldFault,
    RecordMissing,
    RecordNotUsable,
    RecordsBusy,
    RecordsOutOfReach,
    Refusal,
)
from service.core.records import Clock
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.use_cases import Changing
from service.usecases.base.whose import EveryFirm, working_for

PREFIX: Final = "cd_"
# 256 random bits cannot be guessed and need no slow hash: SHA-256 of them is as strong as they are.
SECRET_BYTES: Final = 32
# A write each request would cost more than the request; nobody asks for the minute of a key's last
# use. Common practice, no source.
USE_IS_NOTED_EVERY: Final = timedelta(hours=1)
TRIED_AGAIN_AFTER: Final = timedelta(minutes=1)

_BOOKS: Final = {
    Own.CREW: "crews",
    Own.VEHICLE: "vehicles",
    Own.CLIENT: "clients",
    Own.SITE: "compost_sites",
}

MakeSecret = Callable[[int], str]
"""Gives unguessable URL-safe text from so many random bytes, such as secrets.token_urlsafe."""


class KeyEnded(Refusal):
    """What opens nothing any more has no place to be taken."""

    code = "key_ended"
    sentence = "This key was revoked or has ended; make a new one instead."


@dataclass(frozen=True, slots=True, kw_only=True)
class NewKey:
    """A key with its secret: the only time it is ever shown."""

    key: ApiKey
    secret: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyOf:
    """Whose a new key is, and until when it opens anything.

    A key with the role crew is of a crew or a vehicle, one of a site or a client of that; any
    other is of the whole firm.
    """

    role: Role
    name: str
    crew_id: UUID | None = None
    vehicle_id: UUID | None = None
    client_id: UUID | None = None
    compost_site_id: UUID | None = None
    expires_at: datetime | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class KeepKeys(Changing):
    """Make a firm's keys, let them take another's place, name them, and end them."""

    open_reading: OpenUnitOfWork
    # Gives unguessable text of so many bytes.
    make_secret: MakeSecret

    def make(self, firm_id: UUID, wanted: KeyOf) -> NewKey:
        """Return the key and its secret; only the secret's hash is kept.

        Raises
        ------
        RecordMissing, RecordNotUsable
            If there is no such firm, or it has nobody of whom the key would be.
        """
        with self.open_unit_of_work() as unit:
            if unit.firms.get(firm_id) is None:
                raise RecordMissing(record="firm", id=firm_id)
            faults = self._faults(unit, firm_id, wanted)
            if faults:
                raise RecordNotUsable(faults)
            made = self._made(firm_id, wanted)
            unit.api_keys.add(made.key)
            unit.commit()
        return made

    def rotate(self, firm_id: UUID, key_id: UUID, *, overlap: timedelta) -> NewKey:
        """Return a key that takes another's place; for a while both open the same.

        Parameters
        ----------
        overlap
            How long the old key goes on.

        Raises
        ------
        RecordMissing, KeyEnded
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            old = unit.api_keys.get(firm_id, key_id)
            if old is None:
                raise RecordMissing(record="key", id=key_id)
            if not old.opens(now):
                raise KeyEnded
            same = {one.name: getattr(old, one.name) for one in fields(KeyOf)}
            # Who limited the old key's life meant the next one's, too.
            lives = _life_of(old, unit.api_keys.all(firm_id))
            same["expires_at"] = None if lives is None else now + lives
            made = self._made(firm_id, KeyOf(**same), replaces_id=old.id)
            unit.api_keys.add(made.key)
            unit.api_keys.expire(firm_id, old.id, now + overlap)
            unit.commit()
        return made

    def revoke(self, firm_id: UUID, key_id: UUID) -> ApiKey:
        """Make a key useless from now on and return it. Raises RecordMissing."""
        with self.open_unit_of_work() as unit:
            unit.api_keys.revoke(firm_id, key_id, self.clock.now())
            key: ApiKey | None = unit.api_keys.get(firm_id, key_id)
            if key is None:
                raise RecordMissing(record="key", id=key_id)
            unit.commit()
        return key

    def all(self, firm_id: UUID) -> list[ApiKey]:
        """Return the keys of the firm, revoked ones too; nobody knows their secrets any more."""
        with self.open_reading() as unit:
            return unit.api_keys.all(firm_id)

    def _made(self, firm_id: UUID, wanted: KeyOf, *, replaces_id: UUID | None = None) -> NewKey:
        secret = PREFIX + self.make_secret(SECRET_BYTES)
        key = ApiKey(
            id=self.identifiers.next_id(),
            firm_id=firm_id,
            secret_sha256=fingerprint_of(secret),
            created_at=self.clock.now(),
            replaces_id=replaces_id,
            **{one.name: getattr(wanted, one.name) for one in fields(wanted)},
        )
        return NewKey(key=key, secret=secret)

    def _faults(self, unit: UnitOfWork, firm_id: UUID, wanted: KeyOf) -> list[FieldFault]:
        """Return what is wrong with whose a key would be: every fault at once."""
        allowed = SCOPES.get(wanted.role, frozenset())
        named = [own for own in Own if getattr(wanted, own.value) is not None]
        found = [
            FieldFault(
                pointer=f"/{own.value}",
                detail=f"A key with the role {wanted.role.value} is not of one of these.",
            )
            for own in named
            if own not in allowed
        ]
        if allowed and len(allowed.intersection(named)) != 1:
            choice = " or ".join(sorted(own.value for own in allowed))
            detail = f"A key with the role {wanted.role.value} names one: {choice}."
            found.append(FieldFault(pointer=f"/{min(allowed).value}", detail=detail))
        for own in allowed.intersection(named):
            repository = unit.repository(_BOOKS[own])
            if repository.get(firm_id, getattr(wanted, own.value)) is None:
                detail = "The firm has none with this id."
                found.append(
                    FieldFault(pointer=f"/{own.value}", detail=detail, code="reference_missing")
                )
        if wanted.expires_at is not None and wanted.expires_at <= self.clock.now():
            found.append(FieldFault(pointer="/expires_at", detail="A key ends in the future."))
        return found


class FindCaller:
    """Tell whose key a secret is."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, open_writing: OpenUnitOfWork, clock: Clock
    ) -> None:
        """Take the ways to the keys; what is written is when a key was last used, now and then."""
        self._open = open_unit_of_work
        self._open_writing = open_writing
        self._clock = clock
        self._writes_from: datetime | None = None

    def __call__(self, secret: str) -> Caller | None:
        """Return the caller, or None if the key is not known, was revoked or has ended."""
        if not secret.startswith(PREFIX) or not secret.isascii():
            return None
        with working_for(EveryFirm.CALLERS), self._open() as unit:
            key = unit.api_keys.find(fingerprint_of(secret))
        now = self._clock.now()
        if key is None or not key.opens(now):
            return None
        if key.last_used_at is None or now - key.last_used_at >= USE_IS_NOTED_EVERY:
            self._note_use(key, now)
        return key.caller

    def _note_use(self, key: ApiKey, now: datetime) -> None:
        """Keep that a key is used; a database that cannot be written now stops nobody."""
        if self._writes_from is not None and now < self._writes_from:
            return
        try:
            with working_for(key.firm_id), self._open_writing() as unit:
                unit.api_keys.note_use(key.firm_id, key.id, now)
                unit.commit()
        except (RecordsBusy, RecordsOutOfReach):
            self._writes_from = now + TRIED_AGAIN_AFTER


def _life_of(key: ApiKey, keys: Sequence[ApiKey]) -> timedelta | None:
    """Return how long a key was meant to live; None if nobody limited it.

    A key that was rotated ends with its overlap: what was meant stands in the one that follows it.
    """
    follower = next((one for one in keys if one.replaces_id == key.id), None)
    if follower is not None:
        return _life_of(follower, keys)
    return None if key.expires_at is None else key.expires_at - key.created_at


def fingerprint_of(secret: str) -> str:
    """Return the SHA-256 of a secret, in hexadecimal."""
    return sha256(secret.encode()).hexdigest()
