"""Two who say something of the same lot at once: the mass book holds what both of them said."""

from datetime import timedelta

import pytest

from service.core.errors import Refusal
from service.core.loads import LoadState
from service.core.measures.quantities import Measure
from service.core.places import DestinationKind
from service.gateways.time_and_ids import FreshIdentifiers
from service.usecases.mass_book.checking import CheckMassBook
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_jobs import RecordJobs
from tests.builders import RULES
from tests.database.test_rivals import at_once
from tests.firms import make_firm, no_note, the_load

ROUNDS = 8


@pytest.fixture
def firm(open_unit):
    firm = make_firm(open_unit)
    lawn = firm.lawn(1)
    firm.bed(lawn)
    job = firm.mown(lawn, firm.crew(firm.vehicle()), area_mowed=Measure(value=60, unit="m2"))
    firm.jobs.create(firm.caller, job)
    firm.plan_day()
    firm.clock.move(minutes=30)
    return firm


def test_what_rivals_say_of_a_lot_is_all_in_its_book(firm, open_unit, open_reading):
    kept = {
        "open_unit_of_work": open_unit,
        "clock": firm.clock,
        "rulebook": RULES,
        "renew_note": no_note,
    }
    jobs = RecordJobs(
        **kept,
        identifiers=FreshIdentifiers(),
        open_reading=open_reading,
        clock_tolerance=timedelta(minutes=5),
    )
    loads = UpdateLoad(**kept, identifiers=FreshIdentifiers())
    load_id = the_load(firm, DestinationKind.BED).id
    (job_id,) = {part.job_id for part in the_load(firm, DestinationKind.BED).parts}

    def load_now():
        with open_reading() as unit:
            return unit.loads.get(firm.caller.firm_id, load_id)

    def speak(number):
        done = 0
        for round_ in range(ROUNDS):
            try:
                if number % 2:
                    area = Measure(value=20.0 + 7 * number + round_, unit="m2")
                    version = jobs.read(firm.caller, job_id).version
                    changes = {"area_mowed": area}
                    jobs.amend(firm.caller, job_id, changes, expected_version=version)
                else:
                    load = load_now()
                    is_planned = load.state is LoadState.PLANNED
                    state = LoadState.DELIVERED if is_planned else LoadState.PLANNED
                    changes = {"state": state}
                    loads(firm.caller, load_id, changes, expected_version=load.version)
                done += 1
            except Refusal:
                continue
        return done

    assert sum(at_once(speak)) > ROUNDS
    load = load_now()
    if load.state is LoadState.PLANNED:
        changes = {"state": LoadState.DELIVERED}
        loads(firm.caller, load_id, changes, expected_version=load.version)
    checked = CheckMassBook(open_reading=open_reading)(firm.caller.firm_id)
    assert checked.differences == ()
