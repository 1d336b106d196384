import re
from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from service.core.jobs import LotFinding
from service.core.materials import LotStatus, Wetness
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import Exemption, LegalBasis, LegalBasisKind
from service.core.places import Drainage, GroundState
from service.core.plans import RuleClass
from service.destinations.bed import BedDestination
from service.destinations.beds.monthly import WINDOW_DAYS
from service.destinations.laid.ledger import BedLedger, LaidLayer, window_start
from service.destinations.layer_depth import layer_depths
from service.rules.here import RulesHere
from tests.builders import DAY, HOME, JURISDICTION, PLACE, RULES, a_bed, a_lot


def said(bed, lot=None, ledger=None, **more):
    """Return the verdict of a bed on a lot."""
    return BedDestination(
        bed,
        point=PLACE,
        ledger=ledger or BedLedger(),
        depths=layer_depths(here=RulesHere(RULES, DAY, JURISDICTION)),
        here=RulesHere(RULES, DAY, JURISDICTION),
        **more,
    ).verdict((lot or a_lot()).offered_to(bed.property_id))


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"consent": Consent(state=ConsentState.NOT_ASKED)}, "no_consent"),
        ({"consent": Consent(state=ConsentState.WITHDRAWN)}, "no_consent"),
        (
            {"consent": Consent(state=ConsentState.GIVEN, expires_on=DAY - timedelta(days=1))},
            "consent_expired",
        ),
        ({"legal_basis": LegalBasis()}, "no_legal_basis"),
        (
            {
                "legal_basis": LegalBasis(
                    kind=LegalBasisKind.PERMIT, reference="P 1", expires_on=DAY - timedelta(days=1)
                )
            },
            "legal_basis_expired",
        ),
        ({"ground_state": GroundState.WATERLOGGED}, "ground_not_fit"),
        ({"ground_state": GroundState.FROZEN}, "ground_not_fit"),
        ({"ground_state": GroundState.SNOW}, "ground_not_fit"),
        ({"drainage": Drainage.POOR}, "drainage_not_fit"),
        ({"drainage": Drainage.UNKNOWN}, "drainage_unknown"),
        (
            {"drainage": Drainage.MODERATE, "ground_state": GroundState.SOFT},
            "ground_not_fit",
        ),
        ({"water_distance_m": None}, "water_distance_unknown"),
        ({"water_distance_m": 49.0}, "too_near_water"),
        ({"well_distance_m": 49.0}, "too_near_water"),
        ({"slope_percent": 60.0}, "too_steep"),
        ({"organic_certified": True}, "organic_certifier_first"),
        ({"water_protection_zone": True}, "in_water_protection_zone"),
    ],
)
def test_a_bed_refuses_every_lot_while_something_about_it_is_not_right(change, code):
    verdict = said(a_bed(**change))
    assert (verdict.refused, verdict.code) == (True, code)


@pytest.mark.parametrize(
    "change",
    [
        {"consent": Consent(state=ConsentState.GIVEN, expires_on=DAY)},
        {"legal_basis": LegalBasis(kind=LegalBasisKind.PERMIT, reference="P 1", expires_on=DAY)},
        {"water_distance_m": 50.0},
        {"ground_state": GroundState.SOFT},
        {"slope_percent": 20.0},
    ],
)
def test_a_limit_is_the_last_day_or_distance_that_is_still_right(change):
    assert not said(a_bed(**change)).refused


@pytest.mark.parametrize(
    "status", [LotStatus.WEEDY, LotStatus.DISEASED, LotStatus.UNKNOWN, LotStatus.LITTERED]
)
def test_a_bed_takes_nothing_but_clean_clippings(status):
    verdict = said(a_bed(), a_lot(LotFinding(status=status, code="test")))
    assert (verdict.refused, verdict.code) == (True, f"lot_{status.value}")


def test_clippings_from_elsewhere_do_not_go_on_a_bed_that_may_only_have_its_own():
    own = a_bed(legal_basis=LegalBasis(kind=LegalBasisKind.GROWN_ON_SAME_PROPERTY))
    assert not said(own, a_lot(property_id=HOME)).refused
    verdict = said(own, a_lot(property_id=UUID(int=77)))
    assert (verdict.refused, verdict.code) == (True, "not_grown_here")


def test_half_an_inch_over_forty_square_metres_is_508_litres():
    # 0.0127 m x 40 m2 = 0.508 m3; the lot lies at 100 kg per 0.4 m3, so 127 kg of it.
    verdict = said(a_bed())
    assert verdict.code == "layer_depth"
    assert verdict.accepted_kg == pytest.approx(0.508 * 250)


def test_fifty_tonnes_a_hectare_leave_five_kilograms_a_square_metre_a_year():
    # U13: 50 t/ha in 12 months. 40 m2 x 5 kg/m2 = 200 kg; 150 laid leave 50.
    ledger = BedLedger(
        layers=(LaidLayer(day=DAY - timedelta(days=30), mass_kg=150.0, nitrogen_kg=0.1),)
    )
    verdict = said(a_bed(), ledger=ledger)
    assert verdict.code == "yearly_mass"
    assert verdict.accepted_kg == pytest.approx(50.0)


def test_nitrogen_binds_when_250_kg_a_hectare_are_nearly_laid():
    # 250 kg/ha over 40 m2 is 1.0 kg N; 0.9 laid leave 0.1 kg, at 7 g/kg about 14 kg.
    ledger = BedLedger(
        layers=(LaidLayer(day=DAY - timedelta(days=30), mass_kg=1.0, nitrogen_kg=0.9),)
    )
    verdict = said(a_bed(), ledger=ledger)
    assert verdict.code == "yearly_nitrogen"
    assert verdict.accepted_kg == pytest.approx(0.1 / 0.007)


def test_a_layer_older_than_a_year_is_off_the_account_and_one_of_a_year_ago_is_on_it():
    full = {"mass_kg": 200.0, "nitrogen_kg": 0.0}
    on = BedLedger(layers=(LaidLayer(day=DAY - timedelta(days=365), **full),))
    off = BedLedger(layers=(LaidLayer(day=DAY - timedelta(days=366), **full),))
    assert said(a_bed(), ledger=on).refused
    assert not said(a_bed(), ledger=off).refused


U12 = LegalBasis(
    kind=LegalBasisKind.REGISTERED_EXEMPTION,
    exemption=Exemption.U12,
    reference="EXM 1",
    expires_on=DAY + timedelta(days=100),
)


def test_the_mulch_exemption_ends_at_a_hundred_tonnes_a_month_by_law():
    bed = a_bed(legal_basis=U12)
    open_bed = said(bed, month_kg=99_000.0)
    assert not open_bed.refused
    full = said(bed, month_kg=100_000.0)
    assert (full.code, full.rule_class) == ("monthly_mulch", RuleClass.LAW)
    assert "100 t of mulch in a month" in full.sentence


@pytest.mark.parametrize(
    "basis",
    [
        LegalBasis(kind=LegalBasisKind.GENERAL_EXEMPTION),
        LegalBasis(kind=LegalBasisKind.PERMIT, reference="P 1", expires_on=DAY + timedelta(days=9)),
    ],
)
def test_the_month_of_the_mulch_exemption_binds_no_other_basis(basis):
    assert said(a_bed(legal_basis=basis), month_kg=100_000.0).code != "monthly_mulch"


def test_only_what_was_laid_in_the_month_counts_in_it():
    ledger = BedLedger(
        layers=tuple(
            LaidLayer(day=DAY - timedelta(days=ago), mass_kg=10.0, nitrogen_kg=0.0)
            for ago in (1, 30, 31)
        )
    )
    assert ledger.mass_kg(day=DAY, window_days=WINDOW_DAYS) == 20.0


@pytest.mark.parametrize(
    "change",
    [
        {"consent": Consent(state=ConsentState.GIVEN, given_on=DAY + timedelta(days=1))},
        {"consent": Consent(state=ConsentState.GIVEN, expires_on=DAY - timedelta(days=1))},
        {"legal_basis": replace(U12, expires_on=DAY - timedelta(days=1))},
    ],
)
def test_a_bed_says_its_dates_as_people_do(change):
    sentence = said(a_bed(**change)).sentence
    assert re.search(r"\d{4}-\d\d-\d\d", sentence) is None
    assert re.search(r" \d{1,2} [A-Z][a-z]+ \d{4}", sentence)


def test_a_bed_rests_a_week_after_a_layer():
    def laid(days_ago):
        return BedLedger(
            layers=(LaidLayer(day=DAY - timedelta(days=days_ago), mass_kg=1.0, nitrogen_kg=0.001),)
        )

    assert said(a_bed(), ledger=laid(6)).code == "bed_resting"
    assert said(a_bed(), ledger=laid(6)).facts["again_on"] == "2026-05-21"
    assert not said(a_bed(), ledger=laid(7)).refused


def test_a_client_who_takes_sixty_kilograms_a_visit_is_sent_no_more():
    bed = a_bed(consent=Consent(state=ConsentState.GIVEN, mass_per_visit_max_kg=60.0))
    assert said(bed).accepted_kg == 60.0
    assert said(bed).code == "consent_mass"


def test_a_client_who_takes_no_visit_for_less_than_there_is_room_for_is_sent_nothing():
    room_kg = said(a_bed()).accepted_kg
    consent = Consent(state=ConsentState.GIVEN, mass_per_visit_min_kg=room_kg + 1.0)
    verdict = said(a_bed(consent=consent))
    assert (verdict.refused, verdict.code, verdict.rule_class) == (
        True,
        "consent_mass_least",
        RuleClass.CLIENT,
    )
    assert verdict.facts["room_kg"] == pytest.approx(room_kg, abs=0.1)
    enough = Consent(state=ConsentState.GIVEN, mass_per_visit_min_kg=room_kg - 1.0)
    assert said(a_bed(consent=enough)).accepted_kg == room_kg


def test_the_least_at_a_time_is_no_more_than_the_most():
    consent = Consent(
        state=ConsentState.GIVEN, mass_per_visit_max_kg=20.0, mass_per_visit_min_kg=30.0
    )
    (fault,) = a_bed(consent=consent).faults()
    assert fault.pointer == "/consent/mass_per_visit_min_kg"


def test_grass_that_was_rained_on_goes_on_thinner_than_practice_allows():
    dry, wet = said(a_bed(), a_lot()), said(a_bed(), a_lot(wetness=Wetness.RAINED_ON))
    assert wet.facts["binds"] == "physics"
    assert wet.facts["depth_max_mm"] < dry.facts["depth_max_mm"] == 12.7


def test_a_bed_of_a_hundredth_of_a_square_metre_takes_nothing_worth_a_stop():
    assert said(a_bed(area=Measure(value=0.01, unit="m2"))).refused


def test_the_account_reaches_back_365_days_also_from_the_29th_of_february():
    assert window_start(date(2026, 5, 20)) == date(2025, 5, 20)
    assert window_start(date(2028, 2, 29)) == date(2027, 3, 1)
