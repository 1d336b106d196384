"""Firms, the keys to their data, and what each role may do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import Final
from uuid import UUID

from service.core.errors import NotAllowed


class Role(StrEnum):
    """Whose key it is."""

    OWNER = "owner"
    DISPATCHER = "dispatcher"
    CREW = "crew"
    SITE = "site"
    CLIENT = "client"
    INTEGRATOR = "integrator"


class Act(StrEnum):
    """What a request does, as far as roles care.

    `ASK` reads no record. `READ_OWN` reads what a key of one crew, vehicle, client or site may see
    of its own; the use cases hold such a key to that.
    """

    ASK = "ask"
    READ = "read"
    READ_OWN = "read_own"
    RECORD_WORK = "record_work"
    RECORD_LOADS = "record_loads"
    WORK_THE_HOLD = "work_the_hold"
    KEEP_BOOKS = "keep_books"
    PLAN = "plan"
    ISSUE_NOTES = "issue_notes"
    REVIEW_TICKETS = "review_tickets"
    INVITE = "invite"
    KEEP_KEYS = "keep_keys"
    KEEP_PERSONS = "keep_persons"


_OWN: Final = frozenset({Act.ASK, Act.READ_OWN})
ALLOWED_ACTS: dict[Role, frozenset[Act]] = {
    Role.OWNER: frozenset(Act),
    # Who runs the day decides neither who is let in nor who is erased.
    Role.DISPATCHER: frozenset(Act) - {Act.KEEP_KEYS, Act.KEEP_PERSONS},
    Role.CREW: _OWN | {Act.RECORD_WORK, Act.RECORD_LOADS, Act.ISSUE_NOTES},
    Role.SITE: _OWN | {Act.RECORD_LOADS},
    Role.CLIENT: _OWN,
    Role.INTEGRATOR: _OWN
    | {Act.READ, Act.RECORD_WORK, Act.RECORD_LOADS, Act.WORK_THE_HOLD, Act.KEEP_BOOKS},
}


# What somebody does who may not, in a sentence.
DEEDS: Final[Mapping[Act, str]] = {
    Act.ASK: "ask the desk",
    Act.READ: "read what is the whole firm's",
    Act.READ_OWN: "read what is its own",
    Act.RECORD_WORK: "report work",
    Act.RECORD_LOADS: "report loads",
    Act.WORK_THE_HOLD: "work the hold queue",
    Act.KEEP_BOOKS: "keep the firm's books",
    Act.PLAN: "plan a day",
    Act.ISSUE_NOTES: "issue delivery notes",
    Act.REVIEW_TICKETS: "review weigh tickets",
    Act.INVITE: "invite people",
    Act.KEEP_KEYS: "keep keys",
    Act.KEEP_PERSONS: "hand out or erase all that is kept of a person",
}
OF_THE_FIRM: Final = "of the whole firm"


def refuse_unless_allowed(role: Role, act: Act, *, deed: str | None = None) -> None:
    """Refuse an act that a role does not include, and say whose does. Raises NotAllowed.

    Parameters
    ----------
    deed
        What it is this time, in words for a sentence; the act's own if left out.
    """
    if act not in ALLOWED_ACTS[role]:
        may = [one for one in Role if act in ALLOWED_ACTS[one]]
        raise NotAllowed(role=role.value, act=deed or DEEDS[act], whose=with_role(may))


def with_role(roles: Iterable[Role]) -> str:
    """Return whose keys are with one of some roles, for a sentence."""
    return f"with the role {any_of([role.value for role in roles])}"


def any_of(words: Sequence[str]) -> str:
    """Return words of which any will do, as they stand in a sentence."""
    return " or ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


class Own(StrEnum):
    """Whose a key may be: named as the field that says so in what belongs to them."""

    CREW = "crew_id"
    VEHICLE = "vehicle_id"
    CLIENT = "client_id"
    SITE = "compost_site_id"


# A key of these roles is of one of these; a key of any other role is of the whole firm.
SCOPES: dict[Role, frozenset[Own]] = {
    Role.CREW: frozenset({Own.CREW, Own.VEHICLE}),
    Role.SITE: frozenset({Own.SITE}),
    Role.CLIENT: frozenset({Own.CLIENT}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """Whose a key is: what belongs to others does not exist for it."""

    own: Own
    id: UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class Firm:
    """A landscaping firm: everything kept belongs to one."""

    id: UUID
    name: str
    address: str
    phone: str
    currency: str
    created_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ApiKey:
    """A bearer key: only the hash of its secret is kept."""

    id: UUID
    firm_id: UUID
    role: Role
    name: str
    secret_sha256: str = field(repr=False)
    created_at: datetime
    revoked_at: datetime | None = None
    crew_id: UUID | None = None
    vehicle_id: UUID | None = None
    client_id: UUID | None = None
    compost_site_id: UUID | None = None
    expires_at: datetime | None = None
    last_used_at: datetime | None = None
    replaces_id: UUID | None = None

    def opens(self, now: datetime) -> bool:
        """Return whether the key lets anybody in."""
        return self.revoked_at is None and (self.expires_at is None or now < self.expires_at)

    @property
    def scope(self) -> Scope | None:
        """Whose the key is; None of the whole firm's."""
        for own in Own:
            named: UUID | None = getattr(self, own.value)
            if named is not None:
                return Scope(own=own, id=named)
        return None

    @property
    def caller(self) -> Caller:
        """Return who asks with it."""
        return Caller(firm_id=self.firm_id, key_id=self.id, role=self.role, scope=self.scope)


@dataclass(frozen=True, slots=True, kw_only=True)
class Caller:
    """Who is asking: proven by a key, handed to every use case.

    With a ``scope`` only what belongs to it is there, and one record more where it is granted.
    """

    firm_id: UUID
    key_id: UUID
    role: Role
    scope: Scope | None = None
    granted_id: UUID | None = None

    def granted(self, record_id: UUID) -> Caller:
        """Return the caller as who may write one record that is not its own; nothing else more."""
        return replace(self, granted_id=record_id)

    def own_field(self, fields: Mapping[Own, str], *, what: str) -> str | None:
        """Return the field of a record that must name the caller's own; None if any will do.

        Parameters
        ----------
        fields
            By whose key it is, the field that says so in this kind of record.
        what
            The act that is refused where keys of this scope have nothing of the kind.

        Raises
        ------
        NotAllowed
        """
        if self.scope is None:
            return None
        if self.scope.own not in fields:
            owners = [f"a {own.name.lower()}" for own in Own if own in fields]
            whose = any_of([OF_THE_FIRM, *owners])
            raise NotAllowed(role=self.role.value, act=what, whose=whose)
        return fields[self.scope.own]

    def may_see(self, record: object, fields: Mapping[Own, str], *, what: str) -> bool:
        """Return whether a record is the caller's own, or granted. Raises NotAllowed."""
        if self.granted_id is not None and self.granted_id == getattr(record, "id", None):
            return True
        field = self.own_field(fields, what=what)
        return field is None or (self.scope is not None and getattr(record, field) == self.scope.id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment:
    """One change of a record: who, when, why, and what each field was and became."""

    id: UUID
    firm_id: UUID
    record_kind: str
    record_id: UUID
    record_version: int
    at: datetime
    key_id: UUID | None
    reason: str | None
    changes: dict[str, object]
