import datetime
from dataclasses import replace

import pytest

from service.agronomy.treatments.waits import (
    LabelWait,
    Outcome,
    TreatmentClockWrong,
    TreatmentFact,
    reentry_hours_left,
    verdict_for,
)
from service.rules.lookup import Rulebook

DAY = datetime.date(2026, 6, 1)
TABLE = Rulebook.load().treatments


def treated(
    *written: str,
    days: int | None = 0,
    mowings: int | None = 0,
    label: LabelWait | None = None,
    place: str | None = None,
) -> TreatmentFact:
    names = [substance.name for name in written if (substance := TABLE.substance_of(name))]
    return TreatmentFact(
        product=" + ".join(written),
        substances=tuple(
            substance.name if (substance := TABLE.substance_of(name)) else name for name in written
        ),
        waits=[row for name in names for row in TABLE.waits_on(name, DAY, jurisdiction=place)],
        days_since=days,
        mowings_since=mowings,
        label=label,
    )


def test_no_treatment_on_record_holds_nothing_back() -> None:
    assert verdict_for("bed", []).outcome is Outcome.CLEAR


def test_an_unknown_product_is_unknown_and_never_clear() -> None:
    for destination in ("bed", "edible_bed", "compost_site"):
        verdict = verdict_for(destination, [treated("Acme Weed-All", days=400, mowings=30)])
        assert verdict.outcome is Outcome.UNKNOWN


def test_a_product_without_named_actives_is_unknown() -> None:
    nameless = TreatmentFact(
        product="something green", substances=(), waits=(), days_since=90, mowings_since=9
    )
    assert verdict_for("bed", [nameless]).because == "something green"


def test_both_clocks_must_run_down() -> None:
    for days, mowings in ((30, 3), (15, 4), (0, 0)):
        fact = treated("2,4-D", days=days, mowings=mowings)
        assert verdict_for("bed", [fact]).outcome is Outcome.WAIT
    assert verdict_for("bed", [treated("2,4-D", days=16, mowings=4)]).outcome is Outcome.CLEAR


def test_two_treatments_leave_the_longer_of_each_clock() -> None:
    verdict = verdict_for(
        "bed", [treated("2,4-D", days=1, mowings=4), treated("MCPA", days=16, mowings=1)]
    )
    assert (verdict.days_left, verdict.mowings_left) == (15, 3)


def test_one_long_lived_active_in_a_mix_decides() -> None:
    verdict = verdict_for("compost_site", [treated("2,4-D", "aminopyralid", days=90, mowings=9)])
    assert (verdict.outcome, verdict.because) == (Outcome.NEVER, "aminopyralid")


def test_the_lawn_itself_always_takes_its_own_clippings_back() -> None:
    for name in TABLE.substances:
        assert verdict_for("lawn", [treated(name)]).outcome is Outcome.CLEAR
    assert verdict_for("lawn", [treated("Acme Weed-All")]).outcome is Outcome.CLEAR


def test_what_holds_back_seedlings_for_months_stays_off_beds_for_a_year() -> None:
    for name in ("metsulfuron-methyl", "isoxaben", "paclobutrazol"):
        verdict = verdict_for("bed", [treated(name, days=60, mowings=9)])
        assert (verdict.outcome, verdict.days_left) == (Outcome.WAIT, 305), name


def test_arsenic_never_leaves_the_lawn_for_beds_or_compost() -> None:
    for destination in ("bed", "edible_bed", "compost_site"):
        assert verdict_for(destination, [treated("MSMA", days=999)]).outcome is Outcome.NEVER


def test_the_usual_names_and_numbers_of_turf_products_are_known() -> None:
    # Half of these words stand on labels of one side of the ocean only.
    for written, name in {
        "pronamide": "propyzamide",
        "benefin": "benfluralin",
        "mefenoxam": "metalaxyl-M",
        "fosetyl-Al": "fosetyl-aluminium",
        "halosulfuron": "halosulfuron-methyl",
        "82558-50-7": "isoxaben",
        "nematodes": "insect-eating nematodes",
    }.items():
        substance = TABLE.substance_of(written)
        assert substance is not None, written
        assert substance.name == name


def test_a_clock_nobody_knows_is_unknown() -> None:
    fact = treated("2,4-D", days=None, mowings=9)
    assert verdict_for("bed", [fact]).outcome is Outcome.UNKNOWN


def test_the_label_beats_the_advice_of_the_table() -> None:
    label = LabelWait(days=30, mowings=0)
    fact = treated("2,4-D", days=20, mowings=9, label=label)
    assert verdict_for("bed", [fact]).days_left == 10
    fact = treated("2,4-D", days=31, mowings=0, label=label)
    assert verdict_for("bed", [fact]).outcome is Outcome.CLEAR


def test_a_label_speaks_for_a_product_the_table_does_not_know() -> None:
    fact = treated("Acme Weed-All", days=60, mowings=6, label=LabelWait(mowings=5))
    assert verdict_for("bed", [fact]).outcome is Outcome.CLEAR


def test_a_label_cannot_loosen_a_label_rule_that_says_never() -> None:
    fact = treated("aminocyclopyrachlor", days=700, mowings=50, label=LabelWait(days=0, mowings=1))
    assert verdict_for("bed", [fact]).outcome is Outcome.NEVER


def test_a_label_for_compost_is_silent_on_beds() -> None:
    label = LabelWait(days=5, destinations=("compost_site",))
    fact = treated("2,4-D", days=10, mowings=0, label=label)
    assert verdict_for("compost_site", [fact]).outcome is Outcome.CLEAR
    assert verdict_for("bed", [fact]).outcome is Outcome.WAIT


def test_the_label_of_another_place_does_not_bind() -> None:
    # 18 months is the word of labels in the United States; elsewhere the same is advice.
    british = treated("clopyralid", days=500, mowings=9, place="GB-ENG")
    american = treated("clopyralid", days=500, mowings=9, place="US-OH")
    assert verdict_for("compost_site", [british]).kind == "advice"
    assert verdict_for("compost_site", [american]).kind == "label"


def test_a_label_that_speaks_of_four_mowings_is_over_after_four_and_advice_goes_on() -> None:
    early = treated("clopyralid", days=600, mowings=3, place="GB-ENG")
    assert verdict_for("compost_site", [early]).kind == "label"
    late = treated("clopyralid", days=600, mowings=4, place="GB-ENG")
    assert verdict_for("compost_site", [late]).outcome is Outcome.CLEAR


def test_a_label_that_speaks_of_mulch_does_not_open_a_food_bed() -> None:
    label = LabelWait(mowings=4)
    fact = replace(treated("dicamba", days=30, mowings=4), label=label)
    assert verdict_for("bed", [fact]).outcome is Outcome.CLEAR
    assert verdict_for("edible_bed", [fact]).outcome is Outcome.WAIT
    named = replace(fact, label=replace(label, destinations=("edible_bed",)))
    assert verdict_for("edible_bed", [named]).outcome is Outcome.CLEAR


@pytest.mark.parametrize(
    ("written", "parent"),
    [("MCPP", "mecoprop-P"), ("94-75-7", "2,4-D"), ("Clopyralid-Olamine", "clopyralid")],
)
def test_salts_and_numbers_mean_their_parent(written: str, parent: str) -> None:
    found = TABLE.substance_of(written)
    assert found is not None
    assert found.name == parent


def test_days_before_the_treatment_are_refused() -> None:
    with pytest.raises(TreatmentClockWrong):
        verdict_for("bed", [treated("2,4-D", days=-1)])


@pytest.mark.parametrize(("since", "label"), [(-1, 12), (1, -12)])
def test_a_negative_clock_for_people_is_refused(since: float, label: float) -> None:
    with pytest.raises(TreatmentClockWrong):
        reentry_hours_left(hours_since=since, label_hours=label)


def test_people_wait_by_the_label_and_not_by_the_clippings() -> None:
    assert reentry_hours_left(hours_since=2, label_hours=12) == 10
    assert reentry_hours_left(hours_since=20, label_hours=12) == 0
    assert reentry_hours_left(hours_since=20, label_hours=None) is None
