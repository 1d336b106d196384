import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given

import service.documents
from service.documents.composition.compose import compose
from service.documents.composition.content import Line, NoteContent
from service.documents.facts.bed import BindingLimit, DryMaterial, LimitOf
from service.documents.facts.note import (
    Acknowledged,
    EstimateBasis,
    Finding,
    Material,
    NoteFacts,
    Origin,
    Treatment,
)
from service.documents.facts.values import Unit
from service.documents.rendering.formats import DisplayUnits
from service.documents.rendering.json_note import render_json
from service.documents.rendering.language import FOLDERS, LANGUAGES, _flat, gaps_of, language
from service.documents.rendering.words import REFUSAL_REASONS, put_into_words
from tests.unit.documents.every_note import notes
from tests.unit.documents.notes import a_hard_note, a_note

FOLDER = Path(service.documents.__file__).parent

# A promise nobody can keep, in each language: no note may make it.
PROMISES = {
    "en": r"\bsafe\b|\bsafely\b|\w+cide[- ]free|chemical[- ]free|untreated|guarantee|\bpure\b",
    "es": r"\bsegur[oa]s?\b|libre de|sin herbicidas|sin químicos|garantiza|inofensiv",
    "fr": r"\bsans danger|sans risque|garanti|inoffensi|sans désherbant|non traitée?\b",
    "pt": r"\bsegur[oa]s?\b|livre de|sem herbicidas|garant|inofensiv|não tratad",
    "ro": r"\bsigur[ăi]?\b|fără erbicid|fără pericol|garant|inofensiv|netratat",
    "pl": r"bezpieczn|woln[ey] od|bez herbicydów|bez chemii|gwarant|nieszkodliw",
}


def lines_of(content: NoteContent) -> list[Line]:
    return [
        *(line for answer in content.answers for line in answer.lines),
        *(line for origin in content.origins for line in origin.lines),
        *(line for section in content.sections for line in section.lines),
        *content.changes,
        *content.standing,
    ]


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_language_has_the_same_sentences_with_the_same_gaps(code: str):
    english = {key: gaps_of(text) for key, text in language("en").sentences.items()}
    other = {key: gaps_of(text) for key, text in language(code).sentences.items()}
    assert other == english


@pytest.mark.parametrize("code", [code for code in LANGUAGES if "-" not in code])
def test_no_sentence_of_one_file_is_hidden_by_another_file_of_the_language(code: str):
    kept = [
        key
        for folder in FOLDERS
        for key, _ in _flat(
            tomllib.loads((FOLDER / "languages" / folder / f"{code}.toml").read_text("utf-8")), ""
        )
        if not key.startswith("language.")
    ]
    assert sorted({key for key in kept if kept.count(key) > 1}) == []


VARIANTS = [code for code in LANGUAGES if "-" in code]
# Words for which a reader overseas laughs, or waits for something else.
NOT_OVERSEAS = (
    r"\b(?:coge[rn]?|coja|patatas?|jud[ií]as|guisantes|segar|segada|saco|helado|hierba)\b"
)


@pytest.mark.parametrize("code", VARIANTS)
def test_a_variant_of_a_place_says_only_what_is_said_otherwise_there(code: str):
    base, there = language(code[:2]).sentences, language(code).sentences
    for folder in FOLDERS:
        tree = tomllib.loads((FOLDER / "languages" / folder / f"{code}.toml").read_text("utf-8"))
        own = [key for key, _ in _flat(tree, "")]
        assert [key for key in own if base.get(key) == there[key]] == []


def test_spanish_has_no_word_that_means_something_else_in_the_americas():
    for key, text in language("es").sentences.items():
        assert not re.search(NOT_OVERSEAS, text, re.IGNORECASE), key


# The polite register of the Polish files is impersonal: nobody is told what to do as "ty".
FAMILIAR = r"\b(?:rozłóż|zadzwoń|trzymaj|możesz|zapytaj|załóż|poczekaj|wyślij|uważaj|nie wchodź)\b"


def test_polish_is_polite_in_one_register():
    for key, text in language("pl").sentences.items():
        assert not re.search(FAMILIAR, text, re.IGNORECASE), key


@given(notes())
def test_every_sentence_a_note_can_call_for_has_exactly_the_gaps_that_are_filled(facts: NoteFacts):
    sentences = language("en").sentences
    for line in lines_of(compose(facts)):
        assert gaps_of(sentences[line.key]) == {name for name, _ in line.gaps}


@given(notes())
def test_every_note_can_be_worded_in_every_language_and_unit(facts: NoteFacts):
    content = compose(facts)
    for code in LANGUAGES:
        for units in DisplayUnits:
            note = put_into_words(content, language=language(code), units=units)
            assert all(line.strip() for answer in note.answers for line in answer.lines)


@pytest.mark.parametrize("code", LANGUAGES)
def test_no_language_promises_what_nobody_can_know(code: str):
    for key, text in language(code).sentences.items():
        assert not re.search(PROMISES[code[:2]], text, re.IGNORECASE), key


@pytest.mark.parametrize("code", LANGUAGES)
@pytest.mark.parametrize("facts", [a_note(), a_hard_note()], ids=["ordinary", "hard"])
def test_no_finished_note_promises_what_nobody_can_know(code: str, facts: NoteFacts):
    text = render_json(compose(facts), language=code).decode()
    assert not re.search(PROMISES[code[:2]], text, re.IGNORECASE)


@pytest.mark.parametrize("code", LANGUAGES)
def test_an_unknown_history_is_never_worded_like_a_clean_one(code: str):
    def statement(origin: Origin) -> str:
        content = compose(a_note(origins=(origin,)))
        note = put_into_words(content, language=language(code), units=DisplayUnits.METRIC)
        return note.origins[0].lines[0]

    clean = a_note().origins[0]
    unknown = next(o for o in a_hard_note().origins if o.treatment is Treatment.NOT_KNOWN)
    assert statement(clean) != statement(unknown)


def chosen_by_a_value() -> set[str]:
    """Keys that are looked up by a value rather than written out in the code."""
    dry = [
        f"{table}.{material}"
        for material in DryMaterial
        for table in (
            "mix_with.bags",
            "mix_with.loose",
            "spread.base",
            "spread.mix",
            "spread.cover",
            "layer",
        )
    ]
    return {
        *dry,
        *(f"what.{value}" for value in Material),
        *(f"basis.{value}" for value in EstimateBasis),
        *(f"limit.{value}" for value in BindingLimit),
        *(f"too_much.{value}{some}" for value in LimitOf for some in ("", "_none")),
        *(f"treatment.{value}" for value in Treatment),
        *(f"statement.{value}" for value in Treatment),
        *(f"finding.{value}" for value in Finding),
        *(f"acknowledged.{value}" for value in Acknowledged),
        *(f"reason.{value}" for value in REFUSAL_REASONS),
        *(f"month.{month}" for month in range(1, 13)),
        *(f"unit.{unit}" for unit in Unit),
    }


def test_every_value_of_the_trade_has_its_words():
    sentences = set(language("en").sentences)
    plurals = {key.rpartition(".")[0] for key in sentences if key.startswith("unit.")}
    assert chosen_by_a_value() <= sentences | plurals


def test_no_sentence_is_left_that_nothing_says():
    code = "\n".join(
        path.read_text(encoding="utf-8")
        for path in FOLDER.rglob("*")
        if path.suffix in {".py", ".j2", ".typ"}
    )
    of_screens = {
        table
        for folder in ("crew", "gate")
        for table in tomllib.loads((FOLDER / "languages" / folder / "en.toml").read_text("utf-8"))
    }
    for key in language("en").sentences:
        table, _, name = key.rpartition(".")
        if key.partition(".")[0] in of_screens:  # read by screens, which have a test of their own
            continue
        said = (
            key in chosen_by_a_value()
            or table.startswith(("unit", "field", "language"))
            or f'"{key}"' in code
            or re.search(rf"(?:label|form)\.{name}\b|\(\"{name}\"\)|\"{name}\"", code)
        )
        assert said, key
