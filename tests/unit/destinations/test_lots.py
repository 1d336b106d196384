from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from service.core.jobs import JobState
from service.core.materials import LotStatus, TreatmentHistory
from service.core.measures.quantities import Measure
from service.core.places import DestinationKind
from service.core.plans import Ground, RuleClass
from service.core.treatments import LabelWait
from service.destinations.estimating import estimate_lot, season_of
from service.destinations.lawn import lawn_advice
from service.destinations.lots import find_lot
from service.destinations.reasons import Reason
from service.destinations.verdicts import Limit, accepted, refused
from service.rules.here import RulesHere
from tests.builders import DAY, JURISDICTION, LAWN, NOON, RULES, a_bed, a_job, a_treatment


def lot_of(job, *treatments, mowings=()):
    estimate = estimate_lot(job, latitude=51.5, here=RulesHere(RULES, DAY, JURISDICTION))
    return find_lot(
        replace(job, estimate=estimate),
        treatments=treatments,
        mowings={LAWN: list(mowings)},
        here=RulesHere(RULES, DAY, JURISDICTION),
    )


def mown(*days):
    return [datetime(2026, 5, day, 9, tzinfo=NOON.tzinfo) for day in days]


def test_unknown_is_never_clean():
    lot = lot_of(a_job(treatment_history=TreatmentHistory.UNKNOWN))
    assert lot.status is LotStatus.UNKNOWN


def test_a_history_said_to_be_known_without_any_record_is_unknown():
    assert lot_of(a_job(treatment_history=TreatmentHistory.KNOWN)).status is LotStatus.UNKNOWN


def test_a_lawn_with_nothing_on_record_is_clean():
    assert lot_of(a_job()).status is LotStatus.CLEAN


def test_the_record_wins_over_a_crew_that_knows_of_nothing():
    lot = lot_of(a_job(treatment_history=TreatmentHistory.NONE_RECORDED), a_treatment())
    assert lot.status is LotStatus.TREATED


@pytest.mark.parametrize(
    ("seen", "status"),
    [
        ({"weeds_in_seed": True}, LotStatus.WEEDY),
        ({"disease_seen": True}, LotStatus.DISEASED),
        ({"weeds_in_seed": True, "disease_seen": True}, LotStatus.DISEASED),
        ({"litter_seen": True, "disease_seen": True}, LotStatus.LITTERED),
    ],
)
def test_the_worst_finding_wins(seen, status):
    assert lot_of(a_job(**seen)).status is status


def test_a_product_nobody_knows_is_unknown_whatever_its_age():
    old = a_treatment(active_ingredients=(), applied_on=date(2020, 1, 1))
    assert lot_of(a_job(), old).status is LotStatus.UNKNOWN


def test_24d_is_over_for_beds_after_sixteen_days_and_four_mowings():
    # Four mowings where the label is silent, and harm shown up to 15 days: both must pass.
    long_ago = a_treatment(applied_on=DAY - timedelta(days=19))
    assert lot_of(a_job(), long_ago, mowings=mown(3, 7, 11)).status is LotStatus.TREATED
    lot = lot_of(a_job(), long_ago, mowings=mown(3, 7, 11, 15))
    assert lot.status is LotStatus.CLEAN
    assert lot.waits["bed"].over
    assert not lot.waits["edible_bed"].over


def test_a_mowing_on_the_day_of_the_treatment_does_not_count_as_one_after_it():
    sprayed = a_treatment(applied_on=date(2026, 5, 1))
    cuts = mown(1, 5, 9, 13)
    assert lot_of(a_job(), sprayed, mowings=cuts).status is LotStatus.TREATED


def test_a_treatment_after_the_cut_does_not_count():
    assert lot_of(a_job(), a_treatment(applied_on=DAY + timedelta(days=1))).findings == ()


def test_the_label_beats_the_table():
    strict = a_treatment(applied_on=DAY - timedelta(days=60), label_wait=LabelWait(days=90))
    lot = lot_of(a_job(), strict, mowings=mown(2, 5, 8, 11, 14))
    assert lot.waits["bed"].facts["days_left"] == 30


def test_several_treatments_are_as_bad_as_the_worst_of_them():
    mild = a_treatment(applied_on=DAY - timedelta(days=400))
    never = a_treatment(active_ingredients=("aminocyclopyrachlor",))
    assert lot_of(a_job(), mild, never).waits["compost_site"].code == "treatment_never"


LONG = Measure(value=60.0, unit="mm")
BAY = accepted(
    DestinationKind.HOLD_BAY,
    a_bed().id,
    [Limit(mass_kg=900.0, code="bay_volume", sentence="room", rule_class=RuleClass.SITE)],
)


def advice_on(job, lot, elsewhere, held=(BAY,)):
    return lawn_advice(
        job, lot, elsewhere, held=list(held), here=RulesHere(RULES, DAY, JURISDICTION)
    )


REFUSAL = refused(
    DestinationKind.BED,
    a_bed().id,
    Reason(code="no_consent", sentence="no", rule_class=RuleClass.CLIENT, ground=Ground.PLACE),
)


def test_a_label_that_keeps_clippings_on_the_lawn_must_be_followed():
    job = a_job(state=JobState.PLANNED, planned_at=NOON, cut_at=None)
    lot = lot_of(job, a_treatment(label_wait=LabelWait(leave_on_lawn=True)))
    advice = advice_on(job, lot, [REFUSAL])
    assert (advice.must, advice.code) == (True, "label_leave_on_lawn")


def test_aminocyclopyrachlor_clippings_stay_on_the_treated_lawn():
    # Purdue turf: not as mulch, not for compost, no end date; return them to the turf.
    lot = lot_of(a_job(), a_treatment(active_ingredients=("aminocyclopyrachlor",)))
    assert advice_on(a_job(), lot, [REFUSAL]).must


def test_short_healthy_grass_that_nobody_takes_is_better_left():
    lot = lot_of(a_job(treatment_history=TreatmentHistory.UNKNOWN))
    advice = advice_on(a_job(), lot, [REFUSAL])
    assert (advice.must, advice.better) == (False, True)


def test_grass_longer_than_an_inch_or_diseased_is_not_left():
    long = a_job(height_removed=LONG)
    assert not advice_on(long, lot_of(long), [REFUSAL]).better
    sick = a_job(disease_seen=True)
    assert not advice_on(sick, lot_of(sick), [REFUSAL]).better


@pytest.mark.parametrize("how", [{"disease_seen": True}, {"height_removed": LONG}])
def test_grass_that_no_bay_takes_either_is_not_bagged(how):
    job = a_job(**how)
    advice = advice_on(job, lot_of(job), [REFUSAL], held=[])
    assert (advice.must, advice.better, advice.code) == (False, True, "nobody_takes_them")


def test_may_is_spring_in_england_and_autumn_in_tasmania():
    assert season_of(date(2026, 5, 20), latitude=51.5) == "spring"
    assert season_of(date(2026, 5, 20), latitude=-42.0) == "autumn"
    assert season_of(date(2026, 12, 1), latitude=51.5) == "winter"
    assert season_of(date(2026, 2, 28), latitude=-42.0) == "summer"
