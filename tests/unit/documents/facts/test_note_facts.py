from dataclasses import fields, replace
from datetime import date, datetime

import pytest

from service.documents.facts.note import (
    Amount,
    NoteFacts,
    Origin,
    Receiver,
    Replaced,
    Treatment,
    Weighing,
)
from service.documents.facts.refusals import NoteFactNotUsable
from tests.unit.documents.notes import (
    DEPOT,
    a_bed,
    a_guidance,
    a_hard_note,
    a_note,
    an_origin,
    kilograms,
    litres,
)


def refused_field(make: object) -> str:
    with pytest.raises(NoteFactNotUsable) as refusal:
        make()
    return str(refusal.value.facts["field"])


def test_an_amount_needs_an_estimate_or_a_weighing():
    bare = a_note().amount
    field = refused_field(lambda: replace(bare, estimate_kg=None, basis=None))
    assert field == "amount"


def test_an_estimate_without_basis_is_refused():
    assert refused_field(lambda: replace(a_note().amount, basis=None)) == "basis"


def test_an_estimate_in_pounds_is_refused():
    pounds = replace(kilograms(1, 2, 3), unit="lb")
    assert refused_field(lambda: replace(a_note().amount, estimate_kg=pounds)) == "estimate_kg"


def test_a_weighing_stands_beside_the_estimate_and_replaces_nothing():
    amount = Amount(
        estimate_kg=kilograms(100, 150, 220),
        basis=a_note().amount.basis,
        weighed=Weighing(net_kg=174, ticket="W-1"),
        volume_litres=litres(300, 400, 600),
    )
    assert amount.estimate_kg is not None
    assert amount.estimate_kg.likely == 150
    assert amount.weighed is not None
    assert amount.weighed.net_kg == 174


@pytest.mark.parametrize("field", ["active_ingredients", "treated_on", "rule"])
def test_a_recorded_treatment_needs_all_its_facts(field: str):
    treated = an_origin(treatment=Treatment.RECORDED_AND_CLEAR)
    empty = () if field == "active_ingredients" else None
    assert refused_field(lambda: replace(treated, **{field: empty})) == field


def test_a_cleared_lot_needs_the_day_its_wait_ended():
    treated = an_origin(treatment=Treatment.RECORDED_AND_CLEAR)
    assert refused_field(lambda: replace(treated, wait_ends_on=None)) == "wait_ends_on"


def test_a_lot_of_unknown_history_may_not_name_a_treatment():
    unknown = an_origin(treatment=Treatment.NOT_KNOWN)
    assert refused_field(lambda: replace(unknown, treated_on=date(2026, 3, 2))) == "treated_on"


def test_times_without_a_zone_are_refused():
    naive = datetime(2026, 5, 24, 9, 40)  # noqa: DTZ001 -- the very thing that is refused
    assert refused_field(lambda: replace(an_origin(), cut_at=naive)) == "cut_at"
    assert refused_field(lambda: a_note(issued_at=naive)) == "issued_at"


def test_a_note_without_origin_is_refused():
    assert refused_field(lambda: a_note(origins=())) == "origins"


def test_a_second_version_must_name_the_first_and_say_what_changed():
    assert refused_field(lambda: a_note(version=2)) == "version"
    assert refused_field(lambda: Replaced(version=1, changes=())) == "changes"
    assert refused_field(lambda: a_note(replaces=a_hard_note().replaces)) == "version"


@pytest.mark.parametrize("field", ["depth_mm", "area_covered_m2", "layers", "days_between_layers"])
@pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf")])
def test_guidance_refuses_numbers_that_mean_nothing(field: str, value: float):
    assert refused_field(lambda: a_guidance(**{field: value})) == field


def test_a_bed_without_area_is_refused():
    assert refused_field(lambda: a_bed(area_m2=0)) == "area_m2"


def test_bags_need_their_size():
    browns = a_guidance().browns
    assert browns is not None
    assert refused_field(lambda: replace(browns, bag_litres=None)) == "bags"


def test_an_origin_has_no_room_for_another_customers_name_or_street():
    names = {field.name for field in fields(Origin)}
    assert names == {
        "lot_code",
        "locality",
        "cut_at",
        "age_hours",
        "treatment",
        "records_read_on",
        "active_ingredients",
        "treatments",
        "treated_on",
        "wait_ends_on",
        "rule",
        "findings",
    }


def test_only_sender_and_receiver_carry_an_address():
    with_place = {field.name for field in fields(NoteFacts)} & {"place", "address"}
    assert not with_place
    assert "place" in {field.name for field in fields(Receiver)}


def test_the_zone_of_the_depot_is_kept():
    assert a_note().issued_at.tzinfo is DEPOT
