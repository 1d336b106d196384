"""Notes go with loads to beds: once, corrected by versions, to nobody they do not concern."""

from datetime import date, timedelta

import pytest

from service.api.work.notes.note_form import NewAcknowledgement
from service.core.errors import RecordNotUsable
from service.core.loads import LoadState
from service.core.measures.quantities import Measure
from service.core.notes import Receipt
from service.core.places import DestinationKind
from service.core.treatments import StatementSource
from service.usecases.mass_book.recalls import KeepRecalls
from service.usecases.mass_book.wanted_lots import WantedLots
from service.usecases.notes.answered import AlreadyAcknowledged
from service.usecases.notes.issue_note import NoteNotForThisLoad, content_of
from service.usecases.notes.versions import RenewNote
from tests.builders import RULES
from tests.fakes import CountingIdentifiers
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
    assert "weighed" in [change.field for change in facts.replaces.changes]
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


def _delivered(firm, load):
    return firm.loads(
        firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version
    )


def _spreads(note):
    """Return whether a note tells anybody how to spread its load; it says first what it is."""
    content = content_of(note)
    headings = [section.heading for section in content.sections]
    first = content.answers[0].lines[0].key
    assert (first == "called_back.do_not_spread") is ("called_back" in headings)
    return "spread" in headings


@pytest.mark.parametrize("has_note", [False, True])
def test_no_note_has_a_load_spread_whose_lot_turned_out_littered_after_the_tip(
    firm, bed_load, has_note
):
    load = _delivered(firm, bed_load)
    if has_note:
        assert _spreads(firm.notes(firm.caller, load.id))
    (job_id,) = (part.job_id for part in load.parts)
    job = firm.jobs.read(firm.caller, job_id)
    firm.jobs.amend(firm.caller, job_id, {"litter_seen": True}, expected_version=job.version)
    note = firm.notes(firm.caller, load.id)
    assert not _spreads(note)
    if has_note:
        assert "called_back" in [c.field for c in content_of(note).facts.replaces.changes]


def test_a_note_of_a_recalled_load_has_it_left_alone_until_the_recall_is_ended(firm, bed_load):
    load = _delivered(firm, bed_load)
    firm.notes(firm.caller, load.id)
    job_ids = [str(part.job_id) for part in load.parts]
    place = {"kind": "bed", "place_id": str(load.destination_id)}
    trace = {
        "lots": [{"job_id": one} for one in job_ids],
        "lawns": [],
        "not_known": [],
        "places": [{**place, "loads": [{"load_id": str(load.id)}]}],
    }
    keep_recalls = KeepRecalls(
        open_unit_of_work=firm.open_unit,
        open_reading=firm.open_unit,
        clock=firm.clock,
        identifiers=CountingIdentifiers(),
        trace_lots=lambda *_: trace,
        renew_note=RenewNote(clock=firm.clock, identifiers=CountingIdentifiers(), rulebook=RULES),
    )
    recall = keep_recalls.begin(firm.caller, WantedLots(), reason="Glass in the grass")
    with firm.open_unit() as unit:
        kept = unit.delivery_notes.all(firm.caller.firm_id, load_id=load.id)
    # Whoever holds the link is told without anybody asking for it.
    assert sorted(_spreads(note) for note in kept) == [False, True]
    assert not _spreads(firm.notes(firm.caller, load.id))
    keep_recalls.end(firm.caller, recall.id)
    assert _spreads(firm.notes(firm.caller, load.id))


def test_a_second_answer_that_says_more_or_otherwise_is_refused_with_what_stands(firm, bed_load):
    note = firm.notes(firm.caller, bed_load.id)
    firm.clock.at = bed_load.arrive_at
    firm.loads(
        firm.caller,
        bed_load.id,
        {"state": LoadState.DELIVERED},
        expected_version=bed_load.version,
    )
    said = {"receipt": Receipt.PART, "name": "A. Green", "accepted_share": 0.5}
    kept = firm.notes.acknowledge(note.id, **said)
    assert firm.notes.acknowledge(note.id, **said) == kept
    for more in ({"accepted_share": 0.1}, {"remark": "The dog is ill, please call"}):
        with pytest.raises(AlreadyAcknowledged, match=r"50% of it.*A\. Green.*\+44 20 7946 0011"):
            firm.notes.acknowledge(note.id, **said | more)


def test_an_answer_to_another_version_is_not_an_answer_to_this_one(firm, bed_load):
    note = firm.notes(firm.caller, bed_load.id)
    firm.clock.at = bed_load.arrive_at
    with pytest.raises(RecordNotUsable) as refused:
        firm.notes.acknowledge(
            note.id,
            receipt=Receipt.PART,
            name="A. Green",
            accepted_mass_kg=99_999.0,
            seen_version=9,
        )
    pointers = [fault.pointer for fault in refused.value.faults]
    assert pointers == ["/version", "/accepted_mass_kg"]
    answered = firm.notes.acknowledge(note.id, receipt=Receipt.CHECKED, name="A", seen_version=1)
    assert answered.acknowledgement.receipt is Receipt.CHECKED


def test_a_mass_that_is_no_number_is_one_fault():
    part = {"answer": "part_accepted", "signed_by": "A. Green"}
    form = NewAcknowledgement()
    assert set(form.validate({**part, "accepted_mass_kg": "1.5"})) == {"accepted_mass_kg"}
    assert [
        fault.code for fault in form.validate({**part, "accepted_share": 1})["accepted_share"]
    ] == ["out_of_range"]
    assert [fault.code for fault in form.validate(part)["accepted_share"]] == ["required"]


@pytest.mark.parametrize(
    "part", [{"receipt": Receipt.REFUSED}, {"receipt": Receipt.PART, "accepted_share": 0.5}]
)
def test_a_clients_refusal_leaves_the_ticket_on_record_and_counts_it_for_nothing(
    firm, bed_load, part
):
    weight = {"weighed_net": Measure(value=81.0, unit="kg"), "weigh_ticket": "T-7"}
    delivered = {"state": LoadState.DELIVERED, **weight}
    firm.loads(firm.caller, bed_load.id, delivered, expected_version=bed_load.version)
    note = firm.notes(firm.caller, bed_load.id)
    firm.notes.acknowledge(note.id, name="A. Green", reason="wet", **part)
    after = firm.papers.loads.read(firm.caller, bed_load.id)
    assert (after.weighed_net.value, after.weigh_ticket) == (81.0, "T-7")
    assert not after.weight_counts
    assert after.taken_share == part.get("accepted_share", 0.0)


def test_a_note_says_each_treatment_on_the_day_it_was_put_on(firm, bed_load):
    load = _delivered(firm, bed_load)
    job = firm.jobs.read(firm.caller, load.parts[0].job_id)
    for product, active, day in (
        ("Lawn feed and weed", "2,4-D", date(2025, 9, 20)),
        ("Weed killer", "clopyralid", date(2026, 5, 18)),
    ):
        firm.library.treatments.create(
            firm.caller,
            {
                "lawn_id": job.lawn_id,
                "product": product,
                "active_ingredients": (active,),
                "applied_on": day,
                "statement_source": StatementSource.CLIENT_STATEMENT,
                "stated_by": "T. Lund",
            },
        )
    (origin,) = content_of(firm.notes(firm.caller, load.id)).origins
    said = [dict(line.gaps) for line in origin.lines]
    assert [(gaps["ingredients"].names, gaps["treated_on"]) for gaps in said] == [
        (("clopyralid",), date(2026, 5, 18)),
        (("2,4-D",), date(2025, 9, 20)),
    ]
