from dataclasses import replace

import pytest

from service.documents.composition.compose import compose
from service.documents.composition.content import Line, NoteContent, Tone
from service.documents.facts.bed import (
    Animal,
    BindingLimit,
    Drainage,
    DryLayer,
    DryMaterial,
    Wilting,
)
from service.documents.facts.note import Finding, Treatment, Weighing
from tests.unit.documents.notes import a_bed, a_guidance, a_hard_note, a_note, an_origin, kilograms


def answer(content: NoteContent, question: str) -> tuple[Line, ...]:
    return next(found.lines for found in content.answers if found.question == question)


def keys(content: NoteContent, heading: str) -> list[str]:
    found = next(section for section in content.sections if section.heading == heading)
    return [line.key for line in found.lines]


def with_treatments(*treatments: Treatment, grows_food: bool = False) -> NoteContent:
    origins = tuple(an_origin(f"L-{i}", found) for i, found in enumerate(treatments))
    return compose(a_note(origins=origins, bed=a_bed(grows_food=grows_food)))


def test_the_same_facts_compose_the_same_note():
    assert compose(a_hard_note()) == compose(a_hard_note())


def test_an_estimate_is_said_to_be_not_weighed():
    lines = answer(compose(a_note()), "how_much")
    assert [found.key for found in lines] == [
        "how_much.estimated",
        "basis.area_and_height",
        "how_much.volume",
    ]


def test_a_weighed_load_says_both_the_weight_and_the_estimate():
    amount = replace(a_note().amount, weighed=Weighing(net_kg=174, ticket="W-1"))
    lines = answer(compose(a_note(amount=amount)), "how_much")
    assert [found.key for found in lines[:2]] == ["how_much.weighed", "how_much.beside_weight"]


@pytest.mark.parametrize("grows_food", [True, False])
def test_a_load_of_unknown_history_is_kept_from_food(*, grows_food: bool):
    (found,) = answer(
        with_treatments(
            Treatment.NONE_RECORDED,
            Treatment.NOT_KNOWN,
            Treatment.NONE_RECORDED,
            grows_food=grows_food,
        ),
        "food",
    )
    assert (found.key, found.tone) == ("food.not_known", Tone.STOP)


@pytest.mark.parametrize("grows_food", [True, False])
def test_the_worst_lot_answers_for_the_load(*, grows_food: bool):
    (found,) = answer(
        with_treatments(
            Treatment.NOT_KNOWN,
            Treatment.RECORDED_AND_WAITING,
            Treatment.RECORDED_AND_CLEAR,
            grows_food=grows_food,
        ),
        "food",
    )
    assert found.key == "food.waiting"


def test_a_cleared_lot_is_still_kept_from_sensitive_plants():
    (found,) = answer(with_treatments(Treatment.RECORDED_AND_CLEAR, grows_food=True), "food")
    assert (found.key, found.tone) == ("food.cleared_food_bed", Tone.CARE)


def test_a_food_bed_and_a_flower_bed_are_answered_differently():
    food = answer(with_treatments(Treatment.NONE_RECORDED, grows_food=True), "food")
    flowers = answer(with_treatments(Treatment.NONE_RECORDED, grows_food=False), "food")
    assert food[0].key == "food.none_recorded_food_bed"
    assert flowers[0].key == "food.none_recorded_other_bed"


def test_the_loudest_lot_stands_first():
    content = compose(a_hard_note())
    assert [found.tone for found in content.origins] == [
        Tone.STOP,
        Tone.STOP,
        Tone.CARE,
        Tone.PLAIN,
    ]


def test_a_wait_without_end_is_said_to_have_none():
    endless = replace(an_origin(treatment=Treatment.RECORDED_AND_WAITING), wait_ends_on=None)
    content = compose(a_note(origins=(endless,)))
    assert content.origins[0].lines[0].key == "treatment.waiting_without_end"


def test_what_the_crew_saw_is_said_at_the_lot_and_as_a_caution():
    seen = replace(an_origin(), findings=frozenset(Finding))
    content = compose(a_note(origins=(seen,)))
    assert [found.key for found in content.origins[0].lines[1:]] == [
        "finding.weeds_in_seed",
        "finding.disease",
    ]
    assert {"caution.weeds", "caution.disease"} <= set(keys(content, "cautions"))
    assert not {"caution.weeds", "caution.disease"} & set(keys(compose(a_note()), "cautions"))


@pytest.mark.parametrize(
    ("animal", "key", "tone"),
    [
        (Animal.HORSES, "animals.horses", Tone.STOP),
        (Animal.GRAZING, "animals.grazing", Tone.STOP),
        (Animal.DOGS, "animals.dogs", Tone.CARE),
        (Animal.CATS, "animals.small", Tone.CARE),
        (Animal.POULTRY, "animals.small", Tone.CARE),
    ],
)
def test_each_animal_gets_its_own_sentence(animal: Animal, key: str, tone: Tone):
    bed = a_bed(animals=frozenset({animal}))
    (found,) = answer(compose(a_note(bed=bed)), "animals")
    assert (found.key, found.tone) == (key, tone)


def test_never_as_feed_is_said_once_wherever_it_is_said():
    for animals in (frozenset(), frozenset({Animal.DOGS}), frozenset({Animal.HORSES})):
        content = compose(a_note(bed=a_bed(animals=animals)))
        in_answer = any(
            found.key in {"animals.horses", "animals.grazing"}
            for found in answer(content, "animals")
        )
        assert in_answer != ("caution.never_as_feed" in keys(content, "cautions"))


def test_only_wet_grass_is_wilted_first():
    wet = a_guidance(wilting=Wilting(hours_low=4, hours_high=24))
    assert keys(compose(a_note(guidance=wet)), "spread")[0] == "spread.wilt_first"
    assert keys(compose(a_note()), "spread")[0] == "spread.today"


def test_base_clippings_and_cover_come_in_the_order_they_are_laid():
    straw = DryLayer(material=DryMaterial.STRAW, depth_mm=20)
    found = keys(compose(a_note(guidance=a_guidance(base=straw, cover=straw))), "spread")
    layers = ("spread.base", "spread.lay", "spread.mix", "spread.cover")
    assert [key for key in found if key.startswith(layers)] == [
        "spread.base.straw",
        "spread.lay",
        "spread.mix.dry_leaves",
        "spread.cover.straw",
    ]


def test_a_load_that_covers_the_bed_is_laid_over_the_whole_bed():
    enough = a_guidance(area_covered_m2=63.0, layers=2)
    found = keys(compose(a_note(guidance=enough)), "spread")
    assert "spread.lay_whole_bed" in found
    assert "spread.next_layer" in found


def test_one_layer_needs_no_word_on_the_next():
    assert "spread.next_layer" not in keys(compose(a_note()), "spread")


def test_slope_and_slow_ground_change_the_steps():
    bed = a_bed(sloping=True, drainage=Drainage.POOR)
    found = keys(compose(a_note(bed=bed)), "spread")
    assert {"spread.slope", "spread.ground_slow"} <= set(found)
    assert "spread.ground" not in found


def test_paving_is_named_only_where_there_is_some():
    assert "keep_off.paving" in keys(compose(a_note()), "keep_off")
    bed = a_bed(near_drain_or_paving=False)
    assert "keep_off.paving" not in keys(compose(a_note(bed=bed)), "keep_off")


def test_water_is_named_only_where_there_is_some():
    dry = replace(a_guidance().keep_off, water_m=None, wells_m=None)
    found = keys(compose(a_note(guidance=a_guidance(keep_off=dry))), "keep_off")
    assert not {"keep_off.water", "keep_off.wells"} & set(found)


def test_a_load_lighter_than_a_sack_needs_no_word_on_lifting():
    light = replace(a_note().amount, estimate_kg=kilograms(6, 10, 20))
    assert "caution.lifting" not in keys(compose(a_note(amount=light)), "cautions")
    assert "caution.lifting" in keys(compose(a_note()), "cautions")


def test_organic_ground_sends_the_client_to_the_certifier():
    lines = answer(compose(a_note(bed=a_bed(organic=True))), "where")
    assert [found.key for found in lines] == ["where.only_here", "where.organic"]


@pytest.mark.parametrize("limit", list(BindingLimit))
def test_the_limit_that_binds_is_the_one_that_is_named(limit: BindingLimit):
    lines = answer(compose(a_note(guidance=a_guidance(binding_limit=limit))), "how_thick")
    assert lines[-1].key == f"limit.{limit.value}"


def test_a_correction_names_every_change():
    assert len(compose(a_hard_note()).changes) == 4
    assert compose(a_note()).changes == ()


def test_gloves_heat_and_pits_are_never_left_out():
    for facts in (a_note(), a_hard_note()):
        found = set(keys(compose(facts), "cautions"))
        assert {"caution.gloves", "caution.heat", "caution.mould", "caution.no_climbing"} <= found


def test_the_drawing_shows_the_layers_from_the_soil_up():
    drawing = compose(a_hard_note()).drawing
    assert [layer.depth_mm for layer in drawing.layers] == [20, 11, 10]


def test_ground_nobody_judged_is_not_called_slow():
    found = keys(compose(a_note(bed=a_bed(drainage=Drainage.NOT_KNOWN))), "spread")
    assert "spread.ground_not_known" in found
    assert "spread.ground_slow" not in found


def test_a_legal_basis_with_an_end_says_when():
    told = [found.key for found in compose(a_hard_note()).standing]
    assert "standing.legal_basis_until" in told
    assert "standing.legal_basis" not in told
