"""A client's delivery note, in a browser: what warns is never folded, what is looked up is."""

import pytest
from playwright.sync_api import expect

from tests.journeys.browser.looks import WIDTHS, barriers, wide_as

# Of the demo's note; with everything open it is half as long again.
LONGEST_NOTE_PX = {390: 4800, 1280: 3200}


@pytest.mark.parametrize("width", WIDTHS)
def test_a_note_folds_what_is_looked_up_and_nothing_that_warns(demo, device, width):
    page = device.opened(demo.note, width).page
    assert page.evaluate("document.documentElement.scrollHeight") < LONGEST_NOTE_PX[width]
    for warned in ("Take care", "Never feed it to horses", "sweep up at once", "burning"):
        expect(page.get_by_text(warned).first).to_be_visible()
    folded = page.get_by_text("W. A. Adams 1980")
    expect(folded).to_be_hidden()
    page.get_by_text("Sources of the numbers").click()
    expect(folded).to_be_visible()
    page.get_by_text("Further deliveries to this bed").click()
    expect(page.get_by_text("No more on this bed.")).to_be_visible()
    assert wide_as(page) <= width
    assert barriers(page) == []


def test_a_note_is_printed_whole_with_what_is_folded(demo, device):
    page = device.opened(demo.note).page
    page.emulate_media(media="print")
    for said in ("W. A. Adams 1980", "Stop spreading.", "No weed killer"):
        expect(page.get_by_text(said).first).to_be_visible()


def test_a_client_is_asked_how_much_only_of_a_part_and_why_not_only_of_a_refusal(demo, device):
    page = device.opened(demo.note).page
    how_much, why = page.get_by_label("How much was accepted?"), page.get_by_label("If refused")
    expect(how_much).to_be_hidden()
    page.get_by_label("Part of it accepted").check()
    expect(how_much).to_be_visible()
    expect(why).to_be_visible()
    page.get_by_role("radio", name="Refused").check()
    expect(how_much).to_be_hidden()
    why.select_option("Too wet")
    page.get_by_label("Received and checked").check()
    # What is filled in and would be sent is never out of sight.
    expect(why).to_be_visible()
