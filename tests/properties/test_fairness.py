"""What a limit on the clippings of a month means, whatever is cut and when."""

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.loads import LoadState
from service.core.materials import Wetness
from service.core.measures.quantities import Measure
from tests.effort import examples
from tests.firms import DAY, SIX, make_firm

visits = st.fixed_dictionaries(
    {
        "days_later": st.integers(0, 16),
        "area_m2": st.sampled_from([150.0, 400.0, 900.0]),
        "wetness": st.sampled_from(list(Wetness)),
        "delivered": st.sampled_from([True, True, True, False]),
    }
)


@settings(max_examples=examples(15))
@given(
    seen=st.lists(visits, min_size=2, max_size=6),
    limit_kg_per_m2=st.sampled_from([0.3, 1.0, 2.5]),
    price=st.sampled_from([None, 2_000]),
)
def test_no_bed_gets_more_than_the_limit_in_any_thirty_days(seen, limit_kg_per_m2, price):
    firm = make_firm()
    depot = firm.library.depots.read(firm.caller, firm.depot_id)
    firm.library.depots.amend(
        firm.caller,
        firm.depot_id,
        {
            "fairness_limit_kg_per_m2": limit_kg_per_m2,
            "fairness_price_cents_per_t_per_kg_per_m2": price,
        },
        expected_version=depot.version,
    )
    crew = firm.crew(firm.vehicle())
    lawn = firm.lawn(1)
    beds = [firm.bed(lawn, area_m2=60.0), firm.bed(firm.lawn(2), area_m2=120.0)]
    later, posted = 0, set()
    for visit in seen:
        later += visit["days_later"]
        day = DAY + timedelta(days=later)
        if day not in posted:
            firm.clock.at = SIX + timedelta(days=later)
        posted.add(day)
        firm.jobs.create(
            firm.caller,
            firm.mown(
                lawn,
                crew,
                cut_at=firm.clock.now(),
                area_mowed=Measure(value=visit["area_m2"], unit="m2"),
                wetness=visit["wetness"],
            ),
        )
        firm.plan(firm.caller, firm.depot_id, day)
        firm.clock.move(minutes=20)
        for load in firm.all_loads():
            if load.working_day == day and load.state is LoadState.PLANNED and visit["delivered"]:
                firm.loads(
                    firm.caller,
                    load.id,
                    {"state": LoadState.DELIVERED},
                    expected_version=load.version,
                )
    loads = firm.all_loads()
    for bed in beds:
        for first in sorted(posted):
            window = [
                load.mass_kg.high
                for load in loads
                if load.destination_id == bed.id
                and 0 <= (load.working_day - first).days < 30
                and load.state is LoadState.DELIVERED
            ]
            assert sum(window) <= limit_kg_per_m2 * bed.area.si_value + 1e-6
