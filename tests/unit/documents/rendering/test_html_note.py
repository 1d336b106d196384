import base64
import hashlib
import re
from dataclasses import replace
from datetime import datetime
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from hypothesis import given, settings

from service.documents.composition.compose import compose
from service.documents.facts.note import Acknowledged, NoteFacts
from service.documents.rendering.answer_words import Acknowledgement
from service.documents.rendering.html_note import content_security_policy, render_html
from service.documents.rendering.language import LANGUAGES
from tests.unit.documents.every_note import notes
from tests.unit.documents.notes import DEPOT, PAGE, a_bed, a_hard_note, a_note, an_origin

VOID = {"meta", "link", "input", "path", "circle", "rect"}


class Page(HTMLParser):
    """What a browser would find: elements with their attributes, and the balance of tags."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def attributes(self, name: str) -> list[str]:
        return [attrs[name] or "" for _, attrs in self.found if name in attrs]


def page_of(facts: NoteFacts, language: str = "en", **more: object) -> str:
    return render_html(
        compose(facts),
        language=language,
        page_url=PAGE,
        **{"acknowledge_url": "/n/1/answer?sign=a&until=b", **more},
    )


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("facts", [a_note(), a_hard_note()], ids=["ordinary", "hard"])
def test_the_page_names_no_outside_address_and_runs_no_script(language: str, facts: NoteFacts):
    page = page_of(facts, language)
    assert "//" not in page
    found = Page(page)
    assert not {"script", "img", "iframe", "object", "base"} & {tag for tag, _ in found.found}
    assert not any(name.startswith("on") for _, attrs in found.found for name in attrs)
    assert "@import" not in page
    assert "url(" not in page


@settings(max_examples=30, deadline=None)
@given(facts=notes())
def test_any_note_at_all_makes_a_page_whose_tags_are_balanced(facts: NoteFacts):
    assert Page(page_of(facts)).open == []


def test_user_text_is_text_and_never_markup():
    page = page_of(a_note(bed=a_bed(name="<script>alert('x')</script>{{ 7*7 }}")))
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "{{ 7*7 }}" in page


def test_the_form_posts_to_the_address_given_and_asks_for_each_answer():
    found = Page(page_of(a_note()))
    (form,) = (attrs for tag, attrs in found.found if tag == "form")
    assert form == {"method": "post", "action": "/n/1/answer?sign=a&until=b"}
    answers = [attrs["value"] for _, attrs in found.found if attrs.get("name") == "answer"]
    assert answers == [choice.value for choice in Acknowledged]
    names = set(found.attributes("name"))
    assert {"version", "answer", "accepted_share", "reason", "remark", "signed_by"} <= names


def test_every_field_has_a_label():
    found = Page(page_of(a_note()))
    labelled = set(found.attributes("for"))
    fields = [
        attrs
        for tag, attrs in found.found
        if tag in {"input", "select", "textarea"} and attrs.get("type") not in {"hidden", "radio"}
    ]
    assert {attrs["id"] for attrs in fields} == labelled


def test_ids_are_unique_and_every_reference_leads_to_one():
    found = Page(page_of(a_hard_note()))
    ids = found.attributes("id")
    assert len(ids) == len(set(ids))
    assert set(found.attributes("aria-labelledby")) <= set(ids)


def test_headings_go_down_one_step_at_a_time():
    levels = [
        int(tag[1]) for tag, _ in Page(page_of(a_hard_note())).found if re.match(r"h\d$", tag)
    ]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_drawing_is_described_or_hidden():
    for tag, attrs in Page(page_of(a_hard_note())).found:
        if tag == "svg":
            assert attrs.get("aria-hidden") == "true" or "sign" not in (attrs.get("class") or "")
        if tag == "figure":
            assert attrs.get("aria-label")


def test_the_phone_can_be_dialled_without_its_extension():
    assert 'href="tel:+441632960100"' in page_of(a_note())
    assert 'href="tel:+48123456789"' in page_of(a_hard_note())


def test_an_answer_already_given_stands_in_place_of_the_form():
    answer = Acknowledgement(
        answer=Acknowledged.PART_ACCEPTED,
        at=datetime(2026, 5, 24, 14, 20, tzinfo=DEPOT),
        signed_by="P. Alvarez",
        accepted="about half",
        reason="too_much",
    )
    page = page_of(a_note(), acknowledgement=answer)
    assert "<form" not in page
    assert "Part of it accepted. P. Alvarez, 24 May 2026, 14:20." in page.replace("\u00a0", " ")
    assert "about half" in page
    assert "Too much" in page


def test_without_an_address_to_answer_to_there_is_no_form():
    assert "<form" not in page_of(a_note(), acknowledge_url=None)


def test_other_languages_are_linked_in_their_own_names():
    page = page_of(a_note(), language_urls={"es": "?lang=es", "pl": "?lang=pl"})
    assert '<a href="?lang=pl" hreflang="pl" lang="pl">Polski</a>' in page


def test_the_policy_lets_this_style_through_and_no_other():
    page = page_of(a_note())
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style.group(1).encode()).digest()).decode()
    assert f"'sha256-{digest}'" in content_security_policy()
    assert 'style="' not in page


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definition of relative luminance."""
    full = colour if len(colour) == 7 else "#" + "".join(2 * digit for digit in colour[1:])
    channels = [int(full[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_computed_as_the_guideline_prints_it():
    # WCAG 2.2, contrast ratio: black on white is 21:1, and #767676 on white is the
    # lightest grey of Understanding SC 1.4.3 that still reaches 4.5:1 (printed 4.54).
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#767676", "#fff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize(
    ("letters", "grounds"),
    [
        ("#14201a", ("#fff", "#f5f8f3", "#fdf3df", "#fdeaea", "#e6f0e2")),
        ("#3d4a43", ("#fff", "#f5f8f3", "#fdf3df", "#fdeaea")),
        ("#1f5130", ("#fff", "#f5f8f3", "#fdf3df", "#fdeaea")),
        ("#0b4a86", ("#fff", "#f5f8f3")),
        ("#fff", ("#1f5130",)),
    ],
)
def test_letters_can_be_read_in_bright_sun(letters: str, grounds: tuple[str, ...]):
    style = page_of(a_note())
    for ground in grounds:
        assert letters in style
        assert ground in style
        # 4.5 is the level AA of WCAG 2.2 SC 1.4.3; 7 is AAA, wanted here for the sun.
        assert contrast(letters, ground) >= 7


@pytest.mark.parametrize("edge", ["#9a5b00", "#a3161a", "#5d6d63", "#0b4a86"])
def test_signs_and_edges_stand_out(edge: str):
    # WCAG 2.2 SC 1.4.11 asks 3:1 for what is not text.
    for ground in ("#fff", "#fdf3df", "#fdeaea"):
        assert contrast(edge, ground) >= 3


def test_no_line_breaks_a_telephone_number_a_lot_code_or_a_date():
    page = page_of(a_hard_note())
    assert 'call <span class="whole">+48 12 345 67 89 ext. 4</span> to have it' in page
    listed = ", ".join(
        f'<span class="whole">{code}</span>'
        for code in ("K2-0524-11", "K2-0524-9", "M7-0524-1", "M7-0524-4")
    )
    assert f"give the lot: {listed}." in page
    assert "before 7\u00a0June\u00a02026" in page


def test_a_name_with_marks_of_html_in_a_lot_code_stays_text():
    origin = replace(an_origin(), lot_code="<b>&")
    page = page_of(replace(a_note(), origins=(origin,)))
    assert '<span class="whole">&lt;b&gt;&amp;</span>' in page
    assert "<b>" not in page
