"""What clients and crews read is easy, by the formulas published for their languages."""

import pytest

from service.documents.rendering.language import language
from tests.unit.documents.reading_ease import (
    FORMULAS,
    counted,
    ease,
    english_syllables,
    french_syllables,
    polish_syllables,
    spanish_syllables,
)

OF_NOTES = frozenset(
    {
        *("what", "how_much", "basis", "where", "how_thick", "limit", "mix_with", "food"),
        *("animals", "call", "spread", "caution", "sour", "damage", "treatment", "finding"),
        "standing",
    }
)
OF_CREWS = frozenset({"verdict", "warning", "plan", "crew", "answer", "report", "refusal"})
# At least so easy on the scale of Flesch; of Polish at most so hard.
LEAST = {"en": 80.0, "es": 80.0, "es-ES": 80.0, "fr": 80.0}
MOST = {"pl": 6.0}


def sentences(code, tables):
    return [
        text
        for key, text in language(code).sentences.items()
        if key.partition(".")[0] in tables and text.endswith(".")
    ]


@pytest.mark.parametrize("tables", [OF_NOTES, OF_CREWS], ids=["notes", "crews"])
@pytest.mark.parametrize("code", FORMULAS)
def test_what_people_read_is_easy(code, tables):
    told = ease(code, sentences(code, tables))
    assert told <= MOST[code] if code in MOST else told >= LEAST[code]


@pytest.mark.parametrize("code", FORMULAS)
def test_no_sentence_is_longer_than_twenty_five_words(code):
    # The length that writers of plain language keep to: common practice, no source.
    syllables = FORMULAS[code][1]
    for text in sentences(code, OF_NOTES | OF_CREWS):
        for sentence in text.split(". "):
            assert counted([sentence], syllables).words <= 25, sentence


@pytest.mark.parametrize(
    ("syllables", "words"),
    [
        (english_syllables, {"grass": 1, "clippings": 2, "leave": 1, "treated": 2, "ready": 2}),
        (spanish_syllables, {"pasto": 2, "área": 3, "quemado": 3, "guantes": 2, "llame": 2}),
        (french_syllables, {"herbe": 1, "tondue": 2, "pelouse": 2, "mouillée": 2, "tas": 1}),
        (polish_syllables, {"trawa": 2, "ziemia": 2, "rabatę": 3, "kosić": 2, "odpoczywa": 4}),
    ],
    ids=["en", "es", "fr", "pl"],
)
def test_syllables_are_counted_as_people_count_them(syllables, words):
    assert {word: syllables(word) for word in words} == words


def test_a_harder_text_is_told_from_an_easier_one():
    hard = ["Notwithstanding contradictory documentation, decomposition accelerates considerably."]
    assert ease("en", hard) < 0 < ease("en", ["Leave the grass on the lawn."])
