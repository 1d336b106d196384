"""Keys of a firm: made once, shown once, found by the hash of their secret, revoked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Final
from uuid import UUID

from service.core.callers.access import ApiKey, Caller, Role
from service.core.errors import RecordMissing
from service.core.records import Clock, Identifiers
from service.usecases.base.ports import OpenUnitOfWork

PREFIX: Final = "cd_"
# 256 random bits cannot be guessed and need no slow hash: SHA-256 of them is as strong as they are.
SECRET_BYTES: Final = 32

MakeSecret = Callable[[int], str]
"""Gives unguessable URL-safe text from so many random bytes, such as secrets.token_urlsafe."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewKey:
    """A key with its secret: the only time it is ever shown."""

    key: ApiKey
    secret: str = field(repr=False)


class CreateKey:
    """Make a key of a firm and a role."""

    def __init__(
        self,
        *,
        open_unit_of_work: OpenUnitOfWork,
        clock: Clock,
        identifiers: Identifiers,
        make_secret: MakeSecret,
    ) -> None:
        """Take what is needed; `make_secret` gives unguessable text of so many bytes."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers
        self._make_secret = make_secret

    def __call__(self, firm_id: UUID, *, role: Role, name: str) -> NewKey:
        """Return the key and its secret; only the secret's hash is kept.

        Raises
        ------
        RecordMissing
            If there is no such firm.
        """
        secret = PREFIX + self._make_secret(SECRET_BYTES)
        key = ApiKey(
            id=self._identifiers.next_id(),
            firm_id=firm_id,
            role=role,
            name=name,
            secret_sha256=fingerprint_of(secret),
            created_at=self._clock.now(),
        )
        with self._open() as unit:
            if unit.firms.get(firm_id) is None:
                raise RecordMissing(record="firm", id=firm_id)
            unit.api_keys.add(key)
            unit.commit()
        return NewKey(key=key, secret=secret)


class FindCaller:
    """Tell whose key a secret is."""

    def __init__(self, *, open_unit_of_work: OpenUnitOfWork) -> None:
        """Take the way to the keys."""
        self._open = open_unit_of_work

    def __call__(self, secret: str) -> Caller | None:
        """Return the caller, or None if the key is not known or was revoked."""
        if not secret.startswith(PREFIX) or not secret.isascii():
            return None
        with self._open() as unit:
            key = unit.api_keys.find(fingerprint_of(secret))
        if key is None or key.revoked_at is not None:
            return None
        return Caller(firm_id=key.firm_id, key_id=key.id, role=key.role)


class RevokeKey:
    """Make a key useless from now on."""

    def __init__(self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock) -> None:
        """Take what is needed."""
        self._open = open_unit_of_work
        self._clock = clock

    def __call__(self, firm_id: UUID, key_id: UUID) -> None:
        """Revoke the key.

        Raises
        ------
        RecordMissing
            If the firm has no such key.
        """
        with self._open() as unit:
            if not unit.api_keys.revoke(firm_id, key_id, self._clock.now()):
                raise RecordMissing(record="key", id=key_id)
            unit.commit()


class ListKeys:
    """Name a firm's keys, without their secrets: nobody knows those."""

    def __init__(self, *, open_unit_of_work: OpenUnitOfWork) -> None:
        """Take the way to the keys."""
        self._open = open_unit_of_work

    def __call__(self, firm_id: UUID) -> list[ApiKey]:
        """Return the keys of the firm, revoked ones too."""
        with self._open() as unit:
            return unit.api_keys.all(firm_id)


def fingerprint_of(secret: str) -> str:
    """Return the SHA-256 of a secret, in hexadecimal."""
    return sha256(secret.encode()).hexdigest()
