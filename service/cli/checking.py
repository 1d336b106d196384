"""The command that checks the mass book of a database; it changes nothing unless told to."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Mapping

from service.cli.records import database_url, told_plainly
from service.storage.engine import make_engine
from service.storage.tables.wall import gaps_in_wall
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.whose import NO_FIRM, working_for
from service.usecases.mass_book.checking import CheckMassBook, RepairMassBook


def check_mass_book(
    called: Namespace, environment: Mapping[str, str], *, repair: bool = False
) -> bool:
    """Print what differs in each firm's book, a line each; return whether nothing does.

    That no wall between firms holds is said beside it: it is the operator's choice, and no fault
    of the book.
    """
    with told_plainly():
        engine = make_engine(database_url(called, environment))
        try:
            opener = reading_opener(engine)
            check = CheckMassBook(open_reading=opener)
            write_anew = RepairMassBook(open_unit_of_work=unit_of_work_opener(engine))
            with working_for(NO_FIRM), opener() as unit:
                firms = [firm for firm in unit.firms.all() if called.firm in {None, firm.id}]
            for gap in gaps_in_wall(engine):
                print(gap, file=sys.stderr)
            is_right = True
            for firm in firms:
                with working_for(firm.id):
                    if repair:
                        write_anew(firm.id)
                    found = check(firm.id)
                for sentence in found.differences:
                    print(f"{firm.id}  {sentence}")
                count = len(found.differences)
                result = f"{count} differences" if count else "nothing differs"
                print(f"{firm.id}  {found.lots} lots, {found.entries} entries: {result}.")
                is_right = is_right and not found.differences
        finally:
            engine.dispose()
    return is_right
