"""An owner sets up an empty firm, in a browser."""

import re

import pytest
from playwright.sync_api import expect

from tests.journeys.browser.looks import WIDTHS, barriers, wide_as

TOWNS = ("Anytown", "Otherton", "Thirdham")
SHEETS = {
    "vehicles": "registration,payload_kg,body_volume_m3\nAA1,900,4.5\nAA2,1100,6.5\nAA3,900,4.5\n",
    "crews": "name,lead,vehicle,language\nRobin,Dana,AA1,en\nWren,Kasia,AA2,pl\nJay,Ana,AA3,es\n",
    "lawns": "client,address,locality,point,area\n"
    + "".join(
        f'Client {n},{n} Elm Street,{TOWNS[n // 20]},"51.75{n:02}, -1.25{n:02}",{200 + n}\n'
        for n in range(60)
    ),
}


def test_an_empty_firm_is_set_up_and_has_a_planned_day(demo, device):
    page = device.join(demo.found()).page

    def fits():
        for width in reversed(WIDTHS):
            page.set_viewport_size({"width": width, "height": 780})
            assert wide_as(page) <= width
        assert barriers(page) == []

    def take(book):
        page.goto(f"{demo.address}/screens/setup/{book}")
        page.get_by_label("Or paste the rows").fill(SHEETS[book])
        page.get_by_role("button", name="Try it").click()
        expect(page.get_by_text("The sheet fits")).to_be_visible()
        page.get_by_role("button", name="Keep all").click()
        expect(page.get_by_text("Kept.")).to_be_visible()

    fits()
    page.get_by_role("link", name="Next: The yard").click()
    for label, text in {
        "Name": "North yard",
        "Address": "1 Mill Lane",
        "Where": "51.7520, -1.2577",
        "Time zone": "Europe/London",
        "Country, or part of one": "GB-ENG",
    }.items():
        page.get_by_label(label, exact=True).fill(text)
    fits()
    page.get_by_role("button", name="Keep this yard").click()
    take("vehicles")
    take("crews")
    page.goto(f"{demo.address}/screens/setup/sites")
    for label, text in {
        "Name": "Hill compost",
        "Operator": "Hill Farms",
        "Address": "Hill Lane",
        "Opens": "07:30",
        "Closes": "17:00",
        "Last load": "16:30",
        "Takes a day [kg]": "5000",
        "Fee": "38",
    }.items():
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_label("Fee is").select_option("per tonne")
    page.locator(".ground svg").click(position={"x": 90, "y": 60})
    expect(page.get_by_text("Marked: ")).to_be_visible()
    fits()
    page.get_by_role("button", name="Keep this compost site").click()
    expect(page.get_by_text("Kept.")).to_be_visible()
    take("lawns")
    fits()
    page.goto(f"{demo.address}/screens/setup")
    page.get_by_role("link", name="Next: a day's work").click()
    choose_by_the_dozen(page)
    page.get_by_label("Taken off").fill("30")
    page.get_by_label("What was put on these lawns").select_option("none_recorded")
    fits()
    page.get_by_role("button", name="Keep it and plan the day").click()
    first = page.locator(".vehicle").first
    expect(first).to_be_visible()
    first.locator("summary").first.click()
    expect(page.get_by_text("Tip at Hill compost").first).to_be_visible()
    fits()
    assert device.wrong == []
    page.goto(f"{demo.address}/screens/setup/work")
    expect(page.get_by_text("59 planned already")).to_be_visible()


def choose_by_the_dozen(page):
    """A dozen lawns are one choice; one of them is left out."""
    wholes = page.get_by_label(re.compile("^Crew for all"))
    assert wholes.count() * 10 <= 60
    for whole in wholes.all():
        label = whole.evaluate("one => one.labels[0].textContent")
        town = next(number for number, name in enumerate(TOWNS) if name in label)
        whole.select_option(label=("Robin", "Wren", "Jay")[town])
    page.locator("form details > summary").first.click()
    page.locator("td select").first.select_option(label="not that day")
    page.get_by_label("Minutes on a lawn").fill("8")


LONGEST_BED_PX = {390: 1800, 1280: 1300}


@pytest.mark.parametrize("width", WIDTHS)
def test_a_bed_of_many_words_is_changed_in_a_form_that_is_no_scroll(demo, device, width):
    """On a telephone it was 3,400 px, on a desk a third of the page."""
    bed = demo.ask("GET", "/beds?limit=1")["items"][0]
    page = device.join(demo.invite("dispatcher"), width).page
    page.goto(f"{demo.address}/screens/setup/beds/records/{bed['id']}")
    tall = page.evaluate("document.documentElement.scrollHeight")
    assert tall < LONGEST_BED_PX[width]
    tops = [
        page.get_by_label(label, exact=True).bounding_box()["y"] for label in ("Client", "Address")
    ]
    assert (tops[0] == tops[1]) == (width == 1280)
    said = page.locator("details.group:not([open])").locator("input, select, textarea")
    assert [one.input_value() for one in said.all() if one.get_attribute("type") != "checkbox"] == [
        "" for one in said.all() if one.get_attribute("type") != "checkbox"
    ]
    assert wide_as(page) <= width
    assert barriers(page) == []
    page.get_by_text("Days and hours of deliveries").click()
    page.get_by_label("Never on these days").fill("never")
    page.get_by_role("button", name="Keep the change").click()
    expect(page.get_by_role("heading", name="Nothing is kept yet")).to_be_visible()
    expect(page.get_by_label("Never on these days")).to_be_visible()
