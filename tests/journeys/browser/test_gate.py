"""A site answers by its link, in a browser."""

import re

from playwright.sync_api import expect

from tests.journeys.browser.looks import barriers, wide_as


def test_a_site_answers_by_its_link_on_a_telephone_that_joined_nothing(demo, device):
    awaited = demo.ask("GET", "/loads?destination_kind=compost_site&state=planned")["items"][0]
    site_id = awaited["destination_id"]
    link = demo.invite("site", compost_site_id=site_id, by_link=True)
    gate = device.opened(link)
    page = gate.page
    expect(page.get_by_role("heading", name="Coming today")).to_be_visible()
    assert wide_as(page) <= 390
    assert barriers(page) == []
    page.get_by_label("The site is").select_option("full")
    page.get_by_label("In your words").fill("The bays are full")
    page.get_by_role("button", name="Say so").click()
    expect(page.get_by_text("full; The bays are full")).to_be_visible()
    assert (page.url, gate.context.cookies()) == (link, [])
    said = demo.ask("GET", f"/compost-sites/{site_id}")
    assert said["live_status"]["capacity_left_kg"] == 0
    page.get_by_label("The site is").select_option("open")
    page.get_by_role("button", name="Say so").click()
    expect(page.get_by_text(re.compile("You said at .*: open"))).to_be_visible()
    page.get_by_role("link", name="polski").click()
    expect(page.get_by_role("heading", name="Dziś przyjedzie")).to_be_visible()
    assert wide_as(page) <= 390
    assert device.wrong == []
