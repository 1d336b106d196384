"""The command that lists who was erased, so that a copy that is put back is erased again."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Mapping

from service.cli.records import database_url, told_plainly
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener
from service.usecases.base.whose import NO_FIRM, working_for


def list_erasures(called: Namespace, environment: Mapping[str, str]) -> None:
    """Print each erasure since a day (UTC), a line each: the firm, the client, when, at whose word.

    A line holds what `POST /clients/{id}/erasure` asks for, and nothing of the person.
    """
    with told_plainly():
        engine = make_engine(database_url(called, environment))
        try:
            opener = reading_opener(engine)
            with working_for(NO_FIRM), opener() as unit:
                firms = [firm.id for firm in unit.firms.all() if called.firm in {None, firm.id}]
            for firm_id in firms:
                with working_for(firm_id), opener() as unit:
                    found = unit.erasures.all(firm_id)
                for one in sorted(found, key=lambda erasure: erasure.erased_at):
                    if called.since is None or one.erased_at.date() >= called.since:
                        at = one.erased_at.isoformat(timespec="seconds")
                        print(f"{firm_id}  {one.client_id}  {at}  {one.asked_by}  {one.reason}")
        finally:
            engine.dispose()
