"""The nearest willing bed is not always the one that is buried."""

from datetime import timedelta

import pytest

from service.core.loads import LoadState
from service.core.places import DestinationKind
from tests.firms import DAY, SIX


@pytest.fixture
def lawn(firm):
    return firm.lawn(1, area_m2=500.0)


@pytest.fixture
def beds(firm, lawn):
    """Return two willing beds: one beside the lawn, one a way off."""
    near = firm.bed(lawn, area_m2=200.0, name="near")
    far = firm.bed(firm.lawn(2), area_m2=400.0, name="far")
    return near, far


def wish(firm, **settings):
    depot = firm.library.depots.read(firm.caller, firm.depot_id)
    firm.library.depots.amend(firm.caller, firm.depot_id, settings, expected_version=depot.version)


def week(firm, lawn, crew, number):
    """Cut the lawn in a week, plan the day, deliver what goes to beds; return the routing."""
    day = DAY + timedelta(weeks=number)
    firm.clock.at = SIX + timedelta(weeks=number)
    firm.jobs.create(firm.caller, firm.mown(lawn, crew, cut_at=firm.clock.at))
    routing = firm.plan(firm.caller, firm.depot_id, day).routing
    firm.clock.move(hours=3)
    for load in firm.all_loads():
        if load.working_day == day and load.state is LoadState.PLANNED:
            firm.loads(
                firm.caller, load.id, {"state": LoadState.DELIVERED}, expected_version=load.version
            )
    return routing


def ways(routing):
    return [way["name"] for lot in routing["lots"] for way in lot["goes_to"]]


@pytest.mark.usefixtures("beds")
def test_without_a_wish_the_nearest_bed_always_wins(firm, lawn, crew):
    told = [week(firm, lawn, crew, number) for number in range(4)]
    assert [ways(routing) for routing in told] == [["near"]] * 4
    assert {routing["cost_cents"]["burden"] for routing in told} == {0}
    chosen = [lot["goes_to"][0] for routing in told for lot in routing["lots"]]
    assert {way["fairness"] for way in chosen} == {None}
    assert all("30 days" not in way["why"] for way in chosen)


@pytest.mark.usefixtures("beds")
def test_with_a_price_the_loads_take_turns_and_the_day_shows_what_it_counted(firm, lawn, crew):
    # Turns are of kilograms against kilometres here; a paid crew takes the near bed oftener.
    wish(firm, fairness_price_cents_per_t_per_kg_per_m2=20_000, crew_minute_cents=0)
    told = [week(firm, lawn, crew, number) for number in range(4)]
    assert [ways(routing) for routing in told] == [["near"], ["far"], ["far"], ["near"]]
    burdens = [routing["cost_cents"]["burden"] for routing in told]
    assert burdens[:2] == [0, 0]
    for routing in told[2:]:
        (way,) = routing["lots"][0]["goes_to"]
        fairness = way["fairness"]
        price = fairness["fairness_price_cents_per_t"]
        assert price == pytest.approx(20_000 * fairness["laid_kg_per_m2"], abs=10.0)
        # Costs are counted at the likely mass.
        likely_kg = routing["lots"][0]["mass_kg"]["likely"]
        assert routing["cost_cents"]["burden"] == pytest.approx(
            price * likely_kg / 1000.0, rel=0.05
        )
        assert fairness["sentence"] in way["why"]
        assert f"the fairness price is {price} cents a tonne" in way["why"]
        (row,) = [row for row in routing["destinations"] if row["name"] == way["name"]]
        assert row["fairness"]["laid_kg_per_m2"] == fairness["laid_kg_per_m2"]


@pytest.mark.usefixtures("beds")
def test_what_is_older_than_thirty_days_is_forgotten(firm, lawn, crew):
    wish(firm, fairness_price_cents_per_t_per_kg_per_m2=20_000)
    assert [ways(week(firm, lawn, crew, number)) for number in (0, 5)] == [["near"], ["near"]]


def test_with_a_limit_the_loads_spread_and_the_near_bed_says_why_no_more(firm, lawn, crew, beds):
    near, _ = beds
    wish(firm, fairness_limit_kg_per_m2=1.0)
    assert ways(week(firm, lawn, crew, 0)) == ["near"]
    (laid,) = firm.all_loads()
    assert laid.explanation["limit_code"] == "fairness_limit"
    assert laid.explanation["chosen"].startswith(
        "near. The firm lays at most 1 kg/m2 on a bed in 30 days; 0.00 already laid, "
        "other loads of today counted, on 200 m²: 200 kg left."
    )
    limit = laid.mass_kg.high / 200.0
    wish(firm, fairness_limit_kg_per_m2=limit)
    told = week(firm, lawn, crew, 1)
    assert ways(told) == ["far"]
    elsewhere = told["lots"][0]["elsewhere"]
    assert elsewhere["refused_by_code"] == {"fairness_limit": 1}
    (refusal,) = elsewhere["nearest_refusals"]
    assert refusal["destination_id"] == str(near.id)
    assert refusal["rule_class"] == "advice"
    assert refusal["facts"]["fairness_limit_kg_per_m2"] == limit
    assert refusal["facts"]["laid_kg_per_m2"] == pytest.approx(limit, abs=0.001)
    # Five weeks after the first layer the near bed is as good as new; grass of June is heavier.
    wish(firm, fairness_limit_kg_per_m2=1.5 * limit)
    assert ways(week(firm, lawn, crew, 5)) == ["near"]


def test_two_lots_of_one_day_share_the_limit_of_a_bed(firm, crew, lawn, beds):
    wish(firm, fairness_limit_kg_per_m2=0.3)
    other = firm.lawn(1, area_m2=500.0)
    firm.jobs.create_many(firm.caller, [firm.job(lawn, crew), firm.job(other, crew, hour=9)])
    firm.plan_day()
    for bed in beds:
        laid_kg = sum(
            load.mass_kg.high for load in firm.all_loads() if load.destination_id == bed.id
        )
        assert 0 < laid_kg <= 0.3 * bed.area.si_value


@pytest.mark.usefixtures("beds")
def test_a_planned_load_that_stays_tells_the_wish_that_came_later(firm, lawn, crew):
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    before = firm.plan_day()["lots"][0]["goes_to"][0]
    wish(firm, fairness_price_cents_per_t_per_kg_per_m2=100)
    after = firm.routing(firm.caller, firm.depot_id, DAY).routing["lots"][0]["goes_to"][0]
    assert before["fairness"] is None
    assert after["load_id"] == before["load_id"]
    assert after["fairness"]["sentence"] == (
        "This bed has had 0.00 kg/m2 in 30 days; the fairness price is 0 cents a tonne "
        "(100 for each kg/m2)."
    )


def test_a_lock_yields_to_the_limit_only_where_the_bed_takes_nothing_more(firm, lawn, crew, beds):
    near, _ = beds
    week(firm, lawn, crew, 0)
    (laid,) = firm.all_loads()
    day = DAY + timedelta(weeks=1)
    firm.clock.at = SIX + timedelta(weeks=1)
    firm.jobs.create(firm.caller, firm.mown(lawn, crew, cut_at=firm.clock.at))
    firm.plan(firm.caller, firm.depot_id, day)
    (load,) = (load for load in firm.all_loads() if load.working_day == day)
    assert load.destination_id == near.id
    firm.loads(firm.caller, load.id, {"locked": True}, expected_version=load.version)

    wish(firm, fairness_limit_kg_per_m2=3.0 * laid.mass_kg.high / 200.0)
    firm.routing(firm.caller, firm.depot_id, day)
    (kept,) = (ld for ld in firm.all_loads() if ld.working_day == day)
    assert (kept.id, kept.locked) == (load.id, True)
    wish(firm, fairness_limit_kg_per_m2=laid.mass_kg.high / 200.0)
    lost = firm.routing(firm.caller, firm.depot_id, day).routing
    assert ways(lost) == ["far"]
    (warning,) = [told for told in lost["warnings"] if told["code"] == "lock_not_kept"]
    assert "The firm lays at most" in warning["why"][0]


@pytest.mark.usefixtures("beds")
def test_a_bed_says_nothing_of_fairness_to_its_client(firm, lawn, crew):
    wish(firm, fairness_price_cents_per_t_per_kg_per_m2=100, fairness_limit_kg_per_m2=2.0)
    firm.jobs.create(firm.caller, firm.mown(lawn, crew))
    firm.plan_day()
    (load,) = (ld for ld in firm.all_loads() if ld.destination_kind is DestinationKind.BED)
    note = firm.notes(firm.caller, load.id)
    assert "fair" not in str(note).lower()
