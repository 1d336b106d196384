"""Commands on the database: its shape, its firms, their keys."""

from __future__ import annotations

import secrets
import sys
from argparse import Namespace
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from service.cli.faults import CommandRefused
from service.core.callers.access import Role
from service.core.errors import RecordNotUsable, RecordsOutOfReach, Refusal
from service.gateways.time_and_ids import FreshIdentifiers, SystemClock
from service.settings import PREFIX
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.whose import NO_FIRM, working_for
from service.usecases.records.callers.api_keys import KeepKeys, KeyOf, NewKey
from service.usecases.records.callers.found_firm import FoundFirm

DATABASE_URL = f"{PREFIX}DATABASE_URL"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Keyring:
    found_firm: FoundFirm
    keep_keys: KeepKeys


def migrate(called: Namespace, environment: Mapping[str, str]) -> None:
    """Bring the database to the newest shape, or tell whether it has it."""
    from alembic.util import CommandError  # noqa: PLC0415 - half a second nobody else needs

    from service.storage import migrations  # noqa: PLC0415 - see above

    url = database_url(called, environment)
    with told_plainly():
        if not called.check:
            migrations.upgrade(url)
            print("The database has the newest shape.")
            return
        try:
            migrations.check(url)
        except CommandError as difference:
            raise CommandRefused(
                f"The database differs from the newest shape. {difference}"
            ) from difference
        print("The database has the newest shape.")


def found_firm(called: Namespace, environment: Mapping[str, str]) -> None:
    """Keep a firm and print its id."""
    with _opened(called, environment) as keyring:
        firm = keyring.found_firm(
            name=called.name,
            address=called.address,
            phone=called.phone,
            currency=called.currency,
        )
    print(firm.id)


def list_firms(called: Namespace, environment: Mapping[str, str]) -> None:
    """Print every firm."""
    with _opened(called, environment) as keyring:
        for firm in keyring.found_firm.all():
            print(f"{firm.id}  {firm.name}")


def create_key(called: Namespace, environment: Mapping[str, str]) -> None:
    """Make a key; its secret alone goes to standard output, so that a script can take it."""
    ends = None if called.days is None else SystemClock().now() + timedelta(days=called.days)
    wanted = KeyOf(
        role=Role(called.role),
        name=called.name,
        crew_id=called.crew,
        vehicle_id=called.vehicle,
        client_id=called.client,
        compost_site_id=called.site,
        expires_at=ends,
    )
    with _opened(called, environment) as keyring:
        _show(keyring.keep_keys.make(called.firm, wanted))


def rotate_key(called: Namespace, environment: Mapping[str, str]) -> None:
    """Make a key that takes another's place; its secret alone goes to standard output."""
    overlap = timedelta(hours=called.overlap_hours)
    with _opened(called, environment) as keyring:
        _show(keyring.keep_keys.rotate(called.firm, called.key, overlap=overlap))


def _show(made: NewKey) -> None:
    print(f"Key {made.key.id}. Its secret is shown this once:", file=sys.stderr)
    print(made.secret)


def list_keys(called: Namespace, environment: Mapping[str, str]) -> None:
    """Print a firm's keys."""
    with _opened(called, environment) as keyring:
        for key in keyring.keep_keys.all(called.firm):
            state = "valid"
            if key.revoked_at is not None:
                state = f"revoked {key.revoked_at:%Y-%m-%d}"
            elif key.expires_at is not None:
                state = f"until {key.expires_at:%Y-%m-%d}"
            print(f"{key.id}  {key.role.value:<10}  {key.created_at:%Y-%m-%d}  {state}  {key.name}")


def revoke_key(called: Namespace, environment: Mapping[str, str]) -> None:
    """Revoke a key."""
    with _opened(called, environment) as keyring:
        keyring.keep_keys.revoke(called.firm, called.key)
    print(f"Key {called.key} opens nothing any more.")


def database_url(called: Namespace, environment: Mapping[str, str]) -> str:
    """Return the address of the database, from the command line or the environment.

    Raises
    ------
    CommandRefused
        If neither names one.
    """
    url: str | None = called.database_url or environment.get(DATABASE_URL)
    if not url:
        raise CommandRefused(
            f"Name the database: --database-url, or {DATABASE_URL} in the environment.",
            called_wrongly=True,
        )
    return url


@contextmanager
def _opened(called: Namespace, environment: Mapping[str, str]) -> Iterator[_Keyring]:
    with told_plainly():
        engine = make_engine(database_url(called, environment))
        opener, clock, identifiers = unit_of_work_opener(engine), SystemClock(), FreshIdentifiers()
        try:
            with working_for(getattr(called, "firm", NO_FIRM)):
                yield _Keyring(
                    found_firm=FoundFirm(
                        open_unit_of_work=opener, clock=clock, identifiers=identifiers
                    ),
                    keep_keys=KeepKeys(
                        open_unit_of_work=opener,
                        open_reading=reading_opener(engine),
                        clock=clock,
                        identifiers=identifiers,
                        make_secret=secrets.token_urlsafe,
                    ),
                )
        finally:
            engine.dispose()


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what a database or the trade refuses into a sentence without its address."""
    try:
        yield
    except RecordNotUsable as refusal:
        sentences = [f"{fault.pointer}: {fault.detail}" for fault in refusal.faults]
        raise CommandRefused("\n".join(sentences), called_wrongly=True) from refusal
    except RecordsOutOfReach as fault:
        raise _not_answering(fault.__cause__ or fault) from None
    except Refusal as refusal:
        raise CommandRefused(str(refusal)) from refusal
    except (ArgumentError, ValueError):
        # Their texts may quote the address, and with it a password.
        raise CommandRefused(
            "The database's address must begin with sqlite:/// or postgresql+psycopg://.",
            called_wrongly=True,
        ) from None
    except SQLAlchemyError as error:
        raise _not_answering(error) from None


def _not_answering(fault: BaseException) -> CommandRefused:
    return CommandRefused(
        f"The database does not answer as it should ({type(fault).__name__}). "
        "Is its address right, may this user write there, and has `clipping-dispatch migrate` been "
        "run?"
    )
