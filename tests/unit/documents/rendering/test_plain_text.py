from hypothesis import given
from hypothesis import strategies as st

from service.documents.rendering.plain_text import fewer, plain, shortened


def test_marks_that_turn_the_writing_round_are_dropped():
    assert plain("Gate \u202ecode\u202c 12\x00") == "Gate code 12"


def test_lines_become_one_line():
    assert plain(" 12 Orchard Street\r\nOakham\t ") == "12 Orchard Street Oakham"


def test_letters_of_every_script_stay():
    assert plain("芝生 Żółć عربى 😀") == "芝生 Żółć عربى 😀"


@given(st.text())
def test_plain_text_is_plain_for_good(text: str):
    once = plain(text)
    assert plain(once) == once
    assert "\n" not in once
    once.encode("utf-8")


@given(st.text(max_size=50), st.integers(min_value=1, max_value=20))
def test_shortened_text_is_never_longer_than_asked(text: str, letters: int):
    assert len(shortened(text, letters=letters)) <= letters


def test_a_cut_list_says_how_many_are_missing():
    assert fewer(("a", "b", "c", "d"), most=2) == ("a", "b", "… (+2)")
    assert fewer(("a", "b"), most=2) == ("a", "b")
