"""A why names the rule behind each factor, or says that there is none any more."""

from dataclasses import replace
from datetime import timedelta
from types import MappingProxyType

import pytest

from service.core.errors import RecordMissing
from service.core.jobs import JobState
from service.usecases.telling.reasons.estimates import TellWhy
from service.usecases.telling.reasons.verdicts import TellVerdicts
from tests.builders import RULES
from tests.firms import SIX


def mown(firm, **changes):
    crew = firm.crew(firm.vehicle())
    past = {"state": JobState.MOWN, "cut_at": SIX - timedelta(hours=1), "planned_at": None}
    return firm.jobs.create(firm.caller, firm.job(firm.lawn(1), crew) | past | changes)


def rules_of(told):
    return {factor["name"]: factor["rule"] for factor in told["factors"]}


def test_each_factor_that_is_no_entry_has_its_rule(firm):
    told = TellWhy(open_unit_of_work=firm.open_unit, clock=firm.clock, rulebook=RULES)(
        firm.caller, mown(firm).id
    )
    found = rules_of(told)
    assert {name for name, rule in found.items() if rule is None} == {
        "area_m2",
        "height_removed_mm",
    }
    assert found["moisture"]["name"] == "clipping_moisture"
    assert told["rulebook_version"] == told["rulebook_version_now"] == RULES.version


def test_a_rule_that_changed_since_is_not_passed_off_as_the_one_that_counted(firm):
    job = mown(firm)
    rule = RULES.rules["clipping_moisture"]
    rows = tuple(replace(row, low=row.low - 0.01) for row in rule.rows)
    changed = replace(
        RULES,
        version="another",
        rules=MappingProxyType({**RULES.rules, rule.name: replace(rule, rows=rows)}),
    )
    told = TellWhy(open_unit_of_work=firm.open_unit, clock=firm.clock, rulebook=changed)(
        firm.caller, job.id
    )
    assert rules_of(told)["moisture"] is None
    assert rules_of(told)["bulk_density_kg_per_m3"] is not None
    assert told["rulebook_version"] != told["rulebook_version_now"]
    assert told["estimate"]["mass_kg"]["likely"] == job.estimate.mass_kg.likely


def test_a_job_nobody_has_is_not_explained(firm):
    for tell in (
        TellWhy(open_unit_of_work=firm.open_unit, clock=firm.clock, rulebook=RULES),
        TellVerdicts(open_unit_of_work=firm.open_unit, clock=firm.clock, rulebook=RULES),
    ):
        with pytest.raises(RecordMissing):
            tell(firm.caller, firm.depot_id)


def test_verdicts_are_those_the_days_routing_is_made_of(firm):
    lawn = firm.lawn(1)
    bed = firm.bed(lawn)
    job = firm.jobs.create(firm.caller, firm.job(lawn, firm.crew(firm.vehicle())))
    tell = TellVerdicts(open_unit_of_work=firm.open_unit, clock=firm.clock, rulebook=RULES)
    told = {row["destination_id"]: row for row in tell(firm.caller, job.id)["verdicts"]}
    (lot,) = firm.plan_day()["lots"]
    assert set(told) == {str(bed.id), str(firm.bay_id)}
    for refusal in lot["elsewhere"]["nearest_refusals"]:
        assert told[refusal["destination_id"]]["sentence"] == refusal["sentence"]
    willing = [row for row in told.values() if not row["refused"]]
    assert (
        len([row for row in willing if row["destination_kind"] == "bed"])
        == (lot["elsewhere"]["willing"])
    )
