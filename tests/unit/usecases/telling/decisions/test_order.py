"""Which decision is taken first: the urgent, then the grave, then the one that soon gets worse."""

from datetime import UTC, datetime, timedelta

from service.usecases.telling.decisions.decision import (
    Decision,
    Gravity,
    Urgency,
    most_urgent_first,
)

NOON = datetime(2026, 5, 24, 12, 0, tzinfo=UTC)
# Somebody may be hurt; grass that may not be there; heat; law; mass; papers.
IN_ORDER = (
    "vehicle_may_be_overloaded",
    "do_not_tip",
    "load_stands",
    "tipped_where_refused",
    "lot_too_large",
    "ticket_awaits_review",
)


def decision(code, urgency=Urgency.NOW, **fields):
    return Decision(code=code, urgency=urgency, sentence=code, **fields)


def codes(found):
    return [one.code for one in most_urgent_first(found)]


def test_of_what_is_as_urgent_that_is_first_by_which_somebody_may_be_hurt():
    assert codes(map(decision, sorted(IN_ORDER))) == list(IN_ORDER)


def test_what_can_wait_comes_after_what_cannot_however_grave_it_is():
    grave = decision("vehicle_may_be_overloaded", Urgency.TODAY)
    assert codes([grave, decision("ticket_awaits_review")])[-1] == grave.code


def test_of_what_is_as_grave_that_is_first_which_gets_worse_first():
    soon = decision("held_hot", deadline=NOON)
    late = decision("load_stands", deadline=NOON + timedelta(hours=1))
    assert codes([decision("gone_sour"), late, soon]) == ["held_hot", "load_stands", "gone_sour"]


def test_one_of_a_code_is_graver_than_the_others_where_that_is_said():
    fire = decision("held_hot", graver=Gravity.HURTS)
    assert codes([decision("do_not_tip"), fire])[0] == "held_hot"
