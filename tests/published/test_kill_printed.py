"""Time and temperature against the regulations, as they stood on their days."""

import datetime
from dataclasses import dataclass, replace

import pytest

from service.agronomy.heat.kill import HeatStep, meets_requirement
from service.core.measures.quantities import to_si
from service.rules.lookup import Rulebook, RuleNotInForce
from tests.published.printed import Printed

RULES = Rulebook.load()
TODAY = datetime.date(2026, 11, 25)


@dataclass(frozen=True, kw_only=True)
class Clause:
    """One way to meet one standard, on a day, and where it is printed."""

    place: str | None
    standard: str
    process: str
    step: str
    source: str
    where: str
    day: datetime.date = TODAY

    def value(self, name):
        return RULES.value_on(
            name,
            self.day,
            jurisdiction=self.place,
            standard=self.standard,
            process=self.process,
            step=self.step,
        ).value

    def _printed(self, what, printed, compute):
        return Printed(
            check=f"{self.standard} {self.process} {self.step} in {self.day.year}, {what}",
            source=self.source,
            where=self.where,
            printed=printed,
            compute=compute,
        )

    def days(self, printed):
        return self._printed("time [d]", printed, lambda: self.value("kill_hours_min") / 24)

    def hours(self, printed):
        return self._printed("time [h]", printed, lambda: self.value("kill_hours_min"))

    def turnings(self, printed):
        return self._printed("turnings [1]", printed, lambda: self.value("kill_turnings_min"))

    def temperature(self, printed):
        return self._printed(
            "temperature [C]", printed, lambda: self.value("kill_temperature_c_min")
        )


WINDROW = Clause(
    place="US",
    standard="us_pfrp",
    process="windrow",
    step="55_c",
    source="cfr-40-257-ii",
    where="B. Processes to further reduce pathogens, composting",
)
WYOMING = replace(WINDROW, source="wyoming-15-b", where="(b)(i)")
CALIFORNIA = replace(
    WINDROW,
    place="US-CA",
    standard="california",
    source="ccr-14-17868-3",
    where="section 17868.3(b)",
)
ORGANIC = replace(WINDROW, standard="us_organic", source="usda-205-203", where="205.203(c)(2)")
CANADA = replace(WINDROW, place="CA", standard="ccme", source="wichuk-sanitation", where="abstract")
GERMANY = replace(
    WINDROW,
    place="DE",
    standard="bioabfv",
    source="bioabfv-2012",
    where="Anhang 2 Nr. 2.2.2.1",
)
GERMANY_BEFORE_MAY_2012 = replace(
    GERMANY,
    source="bioabfv-1998",
    where="Anhang 2 Nr. 2.1",
    day=datetime.date(2010, 6, 1),
)
PAS_100 = replace(
    WINDROW,
    place="GB",
    standard="pas_100",
    step="65_c",
    source="pas-100-2011",
    where="recommended sanitisation",
)
WALES = replace(
    WINDROW,
    place="GB-WLS",
    standard="wales_catering",
    step="60_c",
    source="wsi-2006-1293",
    where="schedule 1 part II",
    day=datetime.date(2007, 6, 1),
)
SEEDS = replace(
    WINDROW, place=None, standard="weed_seeds", source="tompkins-1998", where="abstract"
)

PRINTED = (
    WINDROW.temperature("55"),
    replace(WINDROW, process="in_vessel").days("3"),
    replace(WYOMING, process="aerated_static_pile").days("3"),
    WYOMING.days("15"),
    WINDROW.turnings("5"),
    Printed(
        check="Californian windrow, 131 F [C]",
        source="ccr-14-17868-3",
        where="131 F or higher; the rule is kept as 55 C",
        printed="55",
        compute=lambda: to_si(131, "[degF]"),
    ),
    CALIFORNIA.days("15"),
    CALIFORNIA.turnings("5"),
    replace(ORGANIC, process="in_vessel").days("3"),
    ORGANIC.days("15"),
    ORGANIC.turnings("5"),
    CANADA.days("15"),
    CANADA.turnings("5"),
    GERMANY.days("14"),
    replace(GERMANY, step="60_c").days("6"),
    replace(GERMANY, step="65_c").days("3"),
    replace(GERMANY, process="pasteurisation", step="70_c").hours("1"),
    GERMANY_BEFORE_MAY_2012.days("14"),
    replace(GERMANY_BEFORE_MAY_2012, step="65_c").days("7"),
    replace(GERMANY_BEFORE_MAY_2012, process="in_vessel", step="60_c").days("7"),
    PAS_100.days("7"),
    replace(WALES, process="in_vessel").days("2"),
    replace(WALES, process="in_vessel", step="70_c").hours("1"),
    replace(WALES, process="housed_windrow").days("8"),
    replace(WALES, process="housed_windrow").turnings("3"),
    SEEDS.days("28"),
    replace(SEEDS, process="any", step="75_c", source="grundy-1998").days("0.5"),
)


@pytest.mark.parametrize("case", PRINTED, ids=str)
def test_the_printed_requirement_is_met_to_half_its_last_digit(case):
    assert case.agrees(), f"printed {case.printed}, computed {case.compute()}"


def test_every_step_has_its_temperature_its_hours_and_its_turnings():
    keys = [
        {(row.case, row.jurisdiction, row.since, row.until) for row in RULES.rules[name].rows}
        for name in ("kill_temperature_c_min", "kill_hours_min", "kill_turnings_min")
    ]
    assert keys[0] == keys[1] == keys[2]


def test_a_step_is_named_by_its_temperature():
    for row in RULES.rules["kill_temperature_c_min"].rows:
        assert dict(row.case)["step"] == f"{row.value:.0f}_c"


def test_what_was_hot_enough_in_germany_depends_on_the_year():
    # Five days at 65 C: too short until April 2012, enough from May.
    readings = [(float(hour), 66.0) for hour in range(0, 5 * 24 + 1, 12)]

    def verdict(day):
        clause = replace(GERMANY, step="65_c", day=day)
        step = HeatStep(
            name="65_c",
            temperature_c=clause.value("kill_temperature_c_min"),
            hours=clause.value("kill_hours_min"),
            turnings=0,
            consecutive=True,
        )
        return meets_requirement(readings, turnings=2, steps=[step], greatest_gap_hours=24)

    assert not verdict(datetime.date(2012, 4, 30)).met
    assert verdict(datetime.date(2012, 5, 1)).met


def test_a_place_without_the_standard_has_no_requirement_to_borrow():
    with pytest.raises(RuleNotInForce):
        replace(GERMANY, place="FR").value("kill_hours_min")
