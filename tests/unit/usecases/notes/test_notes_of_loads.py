"""Notes go with loads to beds: once, corrected by versions, to nobody they do not concern."""

from datetime import timedelta

import pytest

from service.core.loads import LoadState
from service.core.notes import Receipt
from service.core.places import DestinationKind
from service.core.quantities import Measure
from service.usecases.notes.issue_note import AlreadyAcknowledged, NoteNotForThisLoad, content_of
from tests.firms import SIX, the_load


@pytest.fixture
def bed_load(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.site()
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    return the_load(firm, DestinationKind.BED)


def test_a_note_asked_for_twice_is_one_note(firm, bed_load):
    first = firm.notes(firm.caller, bed_load.id)
    assert first.number == "2026-00001"
    assert firm.notes(firm.caller, bed_load.id) == first


def test_a_weight_makes_a_new_version_that_says_so_and_leaves_the_estimate(firm, bed_load):
    first = firm.notes(firm.caller, bed_load.id)
    firm.loads(
        firm.caller,
        bed_load.id,
        {"weighed_net": Measure(value=81.0, unit="kg"), "weigh_ticket": "T-7"},
        expected_version=bed_load.version,
    )
    second = firm.notes(firm.caller, bed_load.id)
    assert (second.number, second.note_version, second.replaces_id) == (first.number, 2, first.id)
    facts = content_of(second).facts
    assert [change.field for change in facts.replaces.changes] == ["weighed"]
    assert facts.amount.estimate_kg == content_of(first).facts.amount.estimate_kg
    assert facts.amount.weighed.net_kg == 81.0
    assert firm.papers.delivery_notes.read(firm.caller, first.id) == first


def test_a_note_never_names_another_customers_address(firm, crew):
    home, other = firm.lawn(1), firm.lawn(2)
    firm.bed(home, area_m2=300.0)
    for lawn, hour in ((other, 8), (home, 9)):
        firm.jobs.create(firm.caller, firm.mown(lawn, crew, cut_at=SIX - timedelta(minutes=hour)))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    assert len(load.parts) == 2
    note = firm.notes(firm.caller, load.id)
    assert "2 Private Road" not in str(note.content)
    assert "House 2" not in str(note.content)
    assert "1 Private Road" in str(note.content)


def test_no_note_goes_with_a_load_to_a_site(firm, crew):
    firm.site()
    firm.jobs.create(firm.caller, firm.job(firm.lawn(1), crew))
    firm.plan_day()
    with pytest.raises(NoteNotForThisLoad):
        firm.notes(firm.caller, the_load(firm, DestinationKind.COMPOST_SITE).id)


def test_a_client_answers_once_and_a_refusal_refuses_the_load(firm, bed_load):
    note = firm.notes(firm.caller, bed_load.id)
    answered = firm.notes.acknowledge(note.id, receipt=Receipt.REFUSED, reason="changed my mind")
    assert answered.acknowledgement.receipt is Receipt.REFUSED
    assert firm.papers.loads.read(firm.caller, bed_load.id).state is LoadState.REFUSED
    with pytest.raises(AlreadyAcknowledged):
        firm.notes.acknowledge(note.id, receipt=Receipt.CHECKED)
    again = firm.notes.acknowledge(note.id, receipt=Receipt.REFUSED)
    assert again.acknowledgement == answered.acknowledgement


def test_no_note_is_issued_for_what_the_bed_refuses_by_now(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.site()
    job = firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    load = the_load(firm, DestinationKind.BED)
    firm.jobs.amend(firm.caller, job.id, {"litter_seen": True}, expected_version=1)
    with pytest.raises(NoteNotForThisLoad):
        firm.notes(firm.caller, load.id)


def test_no_note_promises_a_cut_that_has_not_been_made(firm, crew):
    lawn = firm.lawn(1)
    firm.bed(lawn)
    firm.jobs.create(firm.caller, firm.job(lawn, crew))
    firm.plan_day()
    with pytest.raises(NoteNotForThisLoad):
        firm.notes(firm.caller, the_load(firm, DestinationKind.BED).id)
