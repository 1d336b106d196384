"""Every code that a verdict, an answer or a warning can bear has its sentence in each language."""

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

import service
from service.core.acceptance.kills import Kill
from service.core.materials import LotStatus
from service.core.permission.consent import ConsentState
from service.destinations.beds.cautions import WET_GROUND
from service.destinations.lawn import UNFIT_TO_STAY
from service.destinations.treatments.waits import USES
from service.documents.rendering.language import LANGUAGES, gaps_of, language
from service.documents.rendering.told_words import TABLES, VARIANTS, fact_text, told_sentence

HOME = Path(service.__file__).parent
ROOMS = (
    *sorted((HOME / "destinations").rglob("*.py")),
    HOME / "usecases" / "day" / "destinations.py",
    HOME / "usecases" / "day" / "freezes.py",
    HOME / "usecases" / "day" / "lawn_hours.py",
    *sorted((HOME / "usecases" / "telling" / "before_mowing").glob("*.py")),
    HOME / "usecases" / "telling" / "unplaced" / "left_material.py",
    HOME / "usecases" / "telling" / "warnings" / "overnight.py",
)
# Of a wait that is over, and of what may leave a lawn, nobody is told.
NEVER_TOLD = {"treatment_clear", "may_leave"}
VALUES = {
    "do_not_tip": ("ask", "elsewhere"),
    "do_not_tip_all": ("ask", "elsewhere"),
    "ground_not_fit": (*WET_GROUND, "soft"),
    "kill_not_shown": (Kill.PLANT_DISEASE, Kill.WEED_SEED),
    "label_leave_on_lawn": ("always", "mowings"),
    "leave_in_drought": ("long", "short"),
    "leave_on_lawn": ("here", "no_room", "on_top"),
    "no_place_by_plan": ("out", "too_large", "unknown"),
    "no_consent": tuple(state for state in ConsentState if state is not ConsentState.GIVEN),
    "nobody_takes_them": ("unfit", "long"),
    "over_limit": ("law", "client", "site", "advice"),
    "process_does_not_kill": (Kill.PLANT_DISEASE, Kill.WEED_SEED),
    "tip_a_part": ("and_go_on", "keep_the_rest"),
    "tipped_where_refused": ("law", "client", "advice", "refused", "hot"),
    "too_near_water": ("watercourse", "well"),
    "treated_leave_on_lawn": ("always", "mowings"),
    "treatment_wait": ("days", "mowings", "both"),
    "vehicle_may_be_overloaded": ("mass", "volume"),
    "water_distance_unknown": ("watercourse", "well"),
}


# Where a code stands: as an argument, as a member, or first of two that are set together.
SAID = re.compile(
    r'(?:\bcode=|"code": |\bcode(?:, sentence)? = (?!\{)|\.advice\(\s*|\btold\(\s*'
    r'|\brefusal\(\s*[^,"]+,\s*)([^\n,]+)'
)
CONSTANT = re.compile(r'^([A-Z_]+)(?:: Final)? = "([a-z_]+)"', re.MULTILINE)
BY_STATUS = {f"lot_{status}" for status in ("littered", "unknown", "diseased", "weedy")}


def codes_in(path):
    # Words to whoever tips are tested with their own sentences; a finding is facts, no sentence.
    text = re.sub(r"(?:Caution|LotFinding)\([^)]*\)", "", path.read_text(encoding="utf-8"))
    constants = dict(CONSTANT.findall(text))
    for found in SAID.findall(text):
        said = re.sub(r'\["[a-z_]+"\]', "", found)  # a member that is read is no code
        yield from re.findall(r'"([a-z_]+)"', said)
        yield from (
            constants[name] for name in re.findall(r"\b[A-Z_]+\b", said) if name in constants
        )
        yield from BY_STATUS if "lot_{status" in said else ()


def codes():
    return {code for path in ROOMS for code in codes_in(path)} - NEVER_TOLD


def keys_of(code):
    if code not in VARIANTS:
        return {code}
    return {f"{code}.{value}" for value in VALUES[code]}


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_code_that_can_be_told_has_its_sentences_in_each_language(code):
    told = {
        key.partition(".")[2] for key in language(code).sentences if key.partition(".")[0] in TABLES
    }
    assert {key for one in codes() for key in keys_of(one)} - told == set()


def test_what_is_told_of_facts_has_no_sentence_of_a_code_that_nobody_says():
    known = {key for code in codes() for key in keys_of(code)}
    also = {"too_long", "law_not_known"}
    stops = {"pick_up", "load_held", "load_held_measured"}
    left = {"nobody_takes_what_is_aboard", "no_room_for_what_is_aboard"}
    left |= keys_of("vehicle_may_be_overloaded") | {"counts_as_sour", "recalled_aboard"}
    left |= {"ticket_awaits_review", "ticket_given_before", "was_it_loaded", "loaded_hot"}
    left |= {"cut_before_tip"}
    left |= keys_of("tip_a_part") | keys_of("do_not_tip")
    left |= keys_of("do_not_tip_all")
    left |= {"load_stands"} | keys_of("over_limit") | keys_of("tipped_where_refused")
    told = {
        key.partition(".")[2]
        for key in language("en").sentences
        if key.startswith(("verdict.", "warning.", "plan."))
    }
    assert told - known - also - stops - left == set()


@pytest.mark.parametrize("code", LANGUAGES)
@pytest.mark.parametrize(
    ("table", "values"), [("unfit", UNFIT_TO_STAY), ("use", USES), ("status", tuple(LotStatus))]
)
def test_every_value_in_a_gap_has_its_word(code, table, values):
    for value in values:
        assert fact_text(table, str(value), language(code)) != str(value) or code == "en"
        assert f"{table}.{value}" in language(code).sentences


def test_a_fact_that_is_missing_leaves_the_sentence_unsaid():
    assert told_sentence("bed_resting", {"again_on": "2026-05-10"}, language_code="es") is None
    assert told_sentence("never_heard_of", {}, language_code="es") is None


def test_numbers_days_and_hours_are_written_as_each_language_does():
    facts = {"last_layer_on": "2026-05-03", "again_on": "2026-05-10"}
    told = {code: told_sentence("bed_resting", facts, language_code=code) for code in LANGUAGES}
    assert "3\u00a0May\u00a02026" in told["en"]
    assert "3\u00a0de\u00a0mayo\u00a0de\u00a02026" in told["es"]
    assert "3\u00a0maja\u00a02026" in told["pl"]
    laid = {"mass_max_kg_per_m2": 4.0, "laid_kg_per_m2": 1.234}
    assert "1,23" in told_sentence("yearly_mass", laid, language_code="pl")
    at = datetime(2026, 5, 24, 9, 5, tzinfo=UTC)
    assert fact_text("until", at.isoformat(), language("pl")) == "24\u00a0maja\u00a02026, 09:05"


@pytest.mark.parametrize(
    ("left", "words"), [(1, "1\u00a0koszenie"), (2, "2\u00a0koszenia"), (5, "5\u00a0koszeń")]
)
def test_a_count_takes_the_form_its_number_asks_for(left, words):
    facts = {"product": "X", "mowings_left": left, "days_left": 0, "use": "bed"}
    assert words in told_sentence("treatment_wait", facts, language_code="pl")


def test_what_is_not_known_to_be_law_says_whom_to_ask():
    facts = {"law": "not_known", "ask": "the council"}
    assert "the council" in told_sentence("no_legal_basis", facts, language_code="pl")


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_gap_is_a_name_that_a_fact_can_have(code):
    for key, text in language(code).sentences.items():
        if key.startswith(("verdict.", "warning.", "plan.")):
            assert all(name.isidentifier() and name.islower() for name in gaps_of(text)), key
