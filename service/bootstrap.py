"""Wiring: who is handed to whom. The one module that knows everyone."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

import uuid_utils
from flask import Flask
from sqlalchemy import Engine

from service import logs
from service.api.application import Options, UseCases, create_app
from service.api.contract import document_of
from service.core.records import Clock, Identifiers
from service.settings import Settings
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.answer_once import AnswerOnce
from service.usecases.api_keys import CreateKey, FindCaller
from service.usecases.check_ready import CheckReady
from service.usecases.ports import OpenUnitOfWork
from service.usecases.shelves import keep_library
from service.usecases.staleness import MarkDaysStale

# The contract is made from the routes alone: nothing is opened under these settings.
_PAPER_SETTINGS: Final = Settings(database_url="sqlite://", signing_key="no link is signed" * 2)


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """Return the time now, UTC."""
        return datetime.now(UTC)


class FreshIdentifiers:
    """Fresh UUIDv7 (RFC 9562, 5.7)."""

    def next_id(self) -> UUID:
        """Return the next id."""
        return UUID(bytes=uuid_utils.uuid7().bytes)


def build_app(settings: Settings) -> Flask:
    """Return the application that the settings describe."""
    engine = make_engine(settings.database_url)
    use_cases = build_use_cases(
        settings,
        writing=unit_of_work_opener(engine),
        reading=reading_opener(engine),
        clock=SystemClock(),
        identifiers=FreshIdentifiers(),
    )
    return create_app(options_of(settings), use_cases, prepare=logs.log_requests)


def build_app_from_env(environment: Mapping[str, str]) -> Flask:
    """Return the application that the environment describes, its logs configured.

    Raises
    ------
    SettingsRefused
    """
    settings = Settings.from_env(environment)
    logs.configure(level=settings.log_level, log_format=settings.log_format)
    return build_app(settings)


def build_use_cases(
    settings: Settings,  # noqa: ARG001 - TODO
    *,
    writing: OpenUnitOfWork,
    reading: OpenUnitOfWork,
    clock: Clock,
    identifiers: Identifiers,
) -> UseCases:
    """Return the use cases over kept records.

    Parameters
    ----------
    settings
        The operator's decisions.
    writing, reading
        Ways to open a unit of work; what is opened for reading writes nothing.
    clock, identifiers
        Handed in, so that a day can be replayed.
    """
    return UseCases(
        answer_once=AnswerOnce(open_unit_of_work=writing, clock=clock, identifiers=identifiers),
        check_ready=CheckReady(open_unit_of_work=reading),
        find_caller=FindCaller(open_unit_of_work=reading),
        library=keep_library(
            open_unit_of_work=writing,
            clock=clock,
            identifiers=identifiers,
            after_change=MarkDaysStale(clock=clock),
        ),
    )


def build_create_key(engine: Engine) -> CreateKey:
    """Return the use case that makes keys, for the command line."""
    return CreateKey(
        open_unit_of_work=unit_of_work_opener(engine),
        clock=SystemClock(),
        identifiers=FreshIdentifiers(),
        make_secret=secrets.token_urlsafe,
    )


def options_of(settings: Settings) -> Options:
    """Return what the settings say about HTTP."""
    return Options(
        public_url=settings.public_url,
        signing_key=settings.signing_key,
        max_body_bytes=settings.max_body_bytes,
    )


def openapi_document() -> dict[str, Any]:
    """Return the contract, as it is committed under openapi/."""
    return document_of(build_app(_PAPER_SETTINGS))
