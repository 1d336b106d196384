"""Whom a warning is about is said by name; what is said of several is said once."""

from service.documents.rendering.language import language
from service.usecases.telling.decisions.decision import Decision, Urgency
from service.usecases.telling.decisions.plan.refused import WORDS
from service.usecases.telling.evening.evening import OnRecord, evening_of
from service.usecases.telling.warnings.subjects import named, unsaid

OLD = "The ground was last looked at more than 24 hours ago."
# What is said to the lawn itself, not by a place.
OF_LAWNS = {
    "recalled_lawn",
    *("collect_to_hold", "label_leave_on_lawn", "law_not_known", "leave_in_drought"),
    *("leave_on_lawn", "may_collect", "nobody_takes_them", "short_clippings_stay", "too_long"),
    *("too_long_to_leave", "treated_leave_on_lawn"),
}


def old_ground(bed, vehicle):
    return Decision(
        code="ground_word_old",
        urgency=Urgency.TODAY,
        sentence=OLD,
        subject=(bed, vehicle),
        destination_kind="bed",
    )


def open_items(*decisions):
    return evening_of([], [], OnRecord(), decisions).still_open


def test_one_warning_names_its_place_and_vehicle():
    (item,) = open_items(old_ground("Yew walk", "QQ00 AAA"))
    assert item.subject == "Yew walk; QQ00 AAA"


def test_a_name_that_the_sentence_says_is_not_said_twice():
    assert unsaid(("Yew walk", "QQ00 AAA"), "QQ00 AAA is out.") == ("Yew walk",)


def test_of_many_names_the_first_are_said_and_the_rest_counted():
    assert named(list("abcdef")) == "a, b, c and 3 more"
    assert named(list("abcd")) == "a, b, c, d"


def test_lawns_that_are_not_mown_yet_are_named_not_only_counted():
    found = OnRecord(not_mown=tuple(f"{number} Elm Street" for number in range(6)))
    (item,) = evening_of([], [], found, ()).still_open
    assert item.subject == "0 Elm Street, 1 Elm Street, 2 Elm Street and 3 more"
    assert item.sentence == "6 lawns are planned and not reported mown."


def test_every_refusal_of_a_place_has_its_words():
    told = {key.split(".")[1] for key in language("en").sentences if key.startswith("verdict.")}
    assert told - OF_LAWNS - set(WORDS) == set()
