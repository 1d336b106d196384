"""What is read of a decision without opening it: whole clauses, and how much it is about."""

import pytest

from service.pages.day.deciding import LONGEST_CLOSED, in_passing

GEARBOX = (
    "QQ00 FFF has been out since 15:00 (The gearbox jams in reverse; it is towed in the evening). "
    "Others take over 2 of its lots."
)
STANDS = (
    "Up to 46 kg stand in QQ00 FFF and heat up: have them out by 19:38; after 01:34 on 21 May 2026 "
    "they count as sour. A heap that steams is for the fire service."
)
LISTED = (
    "46 kg from 9 Larkspur Road, 16 Larkspur Road, 21 Larkspur Road, 23 Larkspur Road and more wait"
)


@pytest.mark.parametrize(
    ("sentence", "short"),
    [
        ("Nothing was heard. Ask.", "Nothing was heard."),
        (GEARBOX, "QQ00 FFF has been out since 15:00."),
        (STANDS, "Up to 46 kg stand in QQ00 FFF and heat up: have them out by 19:38."),
        (f"{LISTED}.", f"{LISTED}."),
    ],
)
def test_a_long_sentence_ends_with_a_clause_and_never_within_a_list_or_brackets(sentence, short):
    assert in_passing(sentence) == short


def test_what_has_two_lines_is_told_whole():
    sentence = f"{'x' * 40}, and {'y' * (LONGEST_CLOSED - 47)}."
    assert len(sentence) == LONGEST_CLOSED
    assert in_passing(sentence) == sentence
