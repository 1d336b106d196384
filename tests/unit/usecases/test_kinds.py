from dataclasses import replace

from service.core.places import DestinationKind
from service.usecases.base.destination_kinds import KINDS, PLANNER_HOLD, faults_of, no_such_places


def with_row(word, **changes):
    return {**KINDS, word: replace(KINDS[word], **changes)}


def test_the_table_has_no_fault():
    assert faults_of(KINDS) == []


def test_a_kind_without_a_row_is_named():
    rest = {word: kind for word, kind in KINDS.items() if word is not DestinationKind.BED}
    assert faults_of(rest) == ["bed has no row in the table of kinds"]


def test_nothing_is_driven_to_a_lawn():
    lawn = {**KINDS, DestinationKind.LAWN: replace(KINDS[DestinationKind.BED], repository="lawns")}
    assert "lawn is no destination" in faults_of(lawn)


def test_two_kinds_share_no_book_no_record_and_no_word_of_the_planner():
    bed = KINDS[DestinationKind.BED]
    twin = with_row(
        DestinationKind.COMPOST_SITE, repository="beds", record=bed.record, planner_word="bed"
    )
    assert {fault.split()[4] for fault in faults_of(twin)} == {
        "record",
        "repository",
        "planner_word",
    }


def test_the_planner_is_told_of_what_only_waits_by_its_own_word():
    called_otherwise = with_row(DestinationKind.HOLD_BAY, planner_word="bay")
    held_for_good = with_row(DestinationKind.BED, planner_word=PLANNER_HOLD)
    assert any("hold_bay: only what is held" in fault for fault in faults_of(called_otherwise))
    assert any("bed: only what is held" in fault for fault in faults_of(held_for_good))


def test_a_firm_without_places_is_told_what_it_has_none_of():
    assert no_such_places(KINDS) == "no bed, no compost site and no hold bay"
    assert no_such_places({DestinationKind.BED: KINDS[DestinationKind.BED]}) == "no bed"
