from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID

import pytest

from service.core.acceptance.hours import OpeningHours
from service.core.acceptance.kills import Kill, KillEvidence
from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.jobs import LotFinding
from service.core.materials import LotStatus
from service.core.plans import RuleClass
from service.destinations.compost_site import CompostSiteDestination
from service.destinations.hold_bay import HoldBayDestination
from service.destinations.verdicts import Wait
from service.rules.here import RulesHere
from tests.builders import DAY, JURISDICTION, NOON, PLACE, RULES, a_bay, a_lot, a_site

CLEAN = a_lot().offered_to(None)


def at(site, *, day=DAY, now=NOON):
    return CompostSiteDestination(site, here=RulesHere(RULES, day, JURISDICTION), now=now)


def test_a_site_takes_its_daily_capacity_and_no_more():
    assert at(a_site()).verdict(CLEAN).accepted_kg == 5000.0


def test_a_site_is_shut_on_days_without_hours_and_on_its_closed_days():
    saturday = date(2026, 5, 23)
    assert at(a_site(), day=saturday).verdict(CLEAN).code == "site_closed_day"
    assert at(a_site(closed_on=(DAY,))).verdict(CLEAN).code == "site_closed_day"


def test_a_site_that_said_today_that_it_is_closed_is_closed_all_day():
    said = LiveStatus(state=SiteState.CLOSED, as_of=NOON - timedelta(hours=3))
    assert at(a_site(live_status=said)).verdict(CLEAN).code == "site_says_closed"
    yesterday = LiveStatus(state=SiteState.CLOSED, as_of=NOON - timedelta(days=1))
    assert not at(a_site(live_status=yesterday)).verdict(CLEAN).refused


def test_the_last_load_moves_forward_when_a_site_closes_early():
    # 15:30 in London in May is 14:30 UTC.
    assert at(a_site()).hours.whole.last_load_at == datetime(2026, 5, 20, 14, 30, tzinfo=UTC)
    early = LiveStatus(closes_early_at=datetime(2026, 5, 20, 12, 0, tzinfo=UTC), as_of=NOON)
    assert at(a_site(live_status=early)).hours.whole.last_load_at == datetime(
        2026, 5, 20, 12, 0, tzinfo=UTC
    )


def test_both_spans_of_a_day_are_planned_with_the_pause_between_them():
    hours = (
        OpeningHours(weekday=2, opens=time(8), closes=time(12), last_load=time(12)),
        OpeningHours(weekday=2, opens=time(14), closes=time(17), last_load=time(17)),
    )
    site = at(a_site(hours=hours))
    assert [span.last_load_at.hour for span in site.spans] == [11, 16]
    assert site.verdict(CLEAN).facts["last_load"] == "17:00"
    assert "last load 17:00 (none between 12:00 and 14:00)," in site.verdict(CLEAN).sentence
    early = LiveStatus(closes_early_at=datetime(2026, 5, 20, 12, 0, tzinfo=UTC), as_of=NOON)
    (only,) = at(a_site(hours=hours, live_status=early)).spans
    assert only.last_load_at.hour == 11


def test_a_site_is_believed_when_it_says_how_much_room_is_left_today():
    said = LiveStatus(state=SiteState.OPEN, as_of=NOON, capacity_left_kg=300.0)
    assert at(a_site(live_status=said)).verdict(CLEAN).accepted_kg == 300.0
    full = LiveStatus(state=SiteState.OPEN, as_of=NOON, capacity_left_kg=0.0)
    assert at(a_site(live_status=full)).verdict(CLEAN).code == "site_full"


def test_the_age_of_a_sites_word_is_told_with_the_verdict():
    said = LiveStatus(state=SiteState.OPEN, as_of=NOON - timedelta(minutes=95))
    facts = at(a_site(live_status=said)).verdict(CLEAN).facts
    assert (facts["status_age_minutes"], facts["status_is_fresh"]) == (95, True)


SHOWN = tuple(KillEvidence(kill=kill, reference="Test 1", shown_on=DAY) for kill in Kill)


@pytest.mark.parametrize("status", [LotStatus.WEEDY, LotStatus.DISEASED, LotStatus.UNKNOWN])
def test_a_site_takes_only_the_statuses_it_accepts(status):
    lot = a_lot(LotFinding(status=status, code="test"))
    assert at(a_site()).verdict(lot.offered_to(None)).code == "site_refuses_status"
    willing = a_site(accepted_statuses=(LotStatus.CLEAN, status), kill_evidence=SHOWN)
    assert not at(willing).verdict(lot.offered_to(None)).refused


def test_every_status_of_a_lot_must_be_accepted_not_only_the_worst():
    lot = a_lot(
        LotFinding(status=LotStatus.WEEDY, code="a"),
        LotFinding(status=LotStatus.TREATED, code="b"),
    )
    site = a_site(accepted_statuses=(LotStatus.CLEAN, LotStatus.TREATED))
    assert at(site).verdict(lot.offered_to(None)).refused


def test_no_site_takes_litter():
    lot = a_lot(LotFinding(status=LotStatus.LITTERED, code="litter_seen"))
    site = a_site(accepted_statuses=tuple(LotStatus))
    assert at(site).verdict(lot.offered_to(None)).code == "lot_littered"


def test_a_wait_for_composting_is_not_overruled_by_a_site_that_takes_treated_lots():
    wait = Wait(over=False, code="treatment_never", sentence="never", rule_class=RuleClass.LABEL)
    lot = a_lot(
        LotFinding(status=LotStatus.TREATED, code="treatment_never"),
        waits={"compost_site": wait},
    )
    site = a_site(accepted_statuses=(LotStatus.CLEAN, LotStatus.TREATED))
    assert at(site).verdict(lot.offered_to(None)).code == "treatment_never"


def bay(lying_m3, **changes):
    return HoldBayDestination(
        a_bay(**changes),
        point=PLACE,
        lying_m3=lying_m3,
        here=RulesHere(RULES, DAY, JURISDICTION),
    )


def test_a_bay_takes_everything_while_there_is_room():
    for status in LotStatus:
        lot = a_lot(LotFinding(status=status, code="x"))
        assert not bay(0.0).verdict(lot.offered_to(None)).refused
    assert bay(8.0).verdict(CLEAN).refused
    # 2 m3 left at 200 kg in 0.8 m3
    assert bay(6.0).verdict(CLEAN).accepted_kg == pytest.approx(500.0)


def test_a_bay_holds_no_more_than_fifty_cubic_metres_and_nobody_knows_that_this_is_law():
    # The exemption is for the producer's own place and no service to others: nothing records that.
    verdict = bay(49.0, volume_m3=400.0, id=UUID(int=5)).verdict(CLEAN)
    assert verdict.rule_class is RuleClass.ADVICE
    assert verdict.accepted_kg == pytest.approx(250.0)


WEEDY = LotFinding(status=LotStatus.WEEDY, code="weeds_in_seed")
WILLING = (LotStatus.CLEAN, LotStatus.WEEDY)


@pytest.mark.parametrize(
    ("process", "takes"),
    [
        # 14 CCR 17868.3 is about pathogens of people: windrow 55 C for 15 days with five turnings.
        ({"process_temperature_c": 55.0, "process_days": 15.0, "process_turnings": 5}, False),
        ({"process_temperature_c": 55.0, "process_days": 3.0}, False),
        # Weed seed was dead after four weeks in a turned windrow at 55 to 65 C (tompkins-1998),
        # and after half a day at 75 C (grundy-1998).
        ({"process_temperature_c": 55.0, "process_days": 28.0, "process_turnings": 1}, True),
        ({"process_temperature_c": 55.0, "process_days": 27.9, "process_turnings": 1}, False),
        ({"process_temperature_c": 54.9, "process_days": 28.0, "process_turnings": 1}, False),
        ({"process_temperature_c": 75.0, "process_days": 0.5}, True),
        ({}, False),
    ],
)
def test_weeds_go_to_a_californian_site_only_if_its_process_is_shown_to_end_their_seed(
    process, takes
):
    site = a_site(accepted_statuses=WILLING, jurisdiction="US-CA", **process)
    there = CompostSiteDestination(site, here=RulesHere(RULES, DAY, site.jurisdiction), now=NOON)
    assert there.verdict(a_lot(WEEDY).offered_to(None)).refused is not takes
    assert not there.verdict(CLEAN).refused
