"""The office's screens of the demo's day, in a browser."""

import gzip
import re
import tomllib
from hashlib import sha256

import pytest
from playwright.sync_api import expect

from tests.journeys.browser.looks import VENDOR, WIDTHS, barriers, wide_as

LONGEST_DAY_PX = {390: 3500, 1280: 2500}


@pytest.mark.parametrize("width", WIDTHS)
def test_a_dispatcher_decides_sees_why_and_locks(demo, device, width):
    page = device.join(demo.invite("dispatcher"), width).page
    expect(page.get_by_role("heading", name="Needs a decision")).to_be_visible()
    assert wide_as(page) <= width
    assert barriers(page) == []
    assert page.evaluate("document.documentElement.scrollHeight") < LONGEST_DAY_PX[width]
    vehicle = page.locator(".vehicle", has=page.locator("li.drop:not(.done)")).first
    expect(vehicle.locator("li.step").first).to_be_hidden()
    vehicle.locator("summary").first.press("Enter")
    load = vehicle.locator("li.drop:not(.done)").first
    load.get_by_text("Why there?").click()
    expect(load.get_by_text("of room are left there")).to_be_visible()
    load.get_by_role("button", name=re.compile("ock it")).first.click()
    page.wait_for_url("**#load-*")
    expect(page.locator("li.drop:target")).to_be_in_viewport()
    assert barriers(page) == []
    page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")
    assert wide_as(page) <= width
    assert barriers(page) == []
    page.get_by_role("link", name="Would another order of the lawns save something?").click()
    expect(page.get_by_role("button", name="Look for a better order")).to_be_visible()
    assert wide_as(page) <= width
    assert barriers(page) == []
    assert device.wrong == []


LINES_OF_DECISIONS = """() => [...document.querySelectorAll('.matter .closed')].map((one) => {
  const words = document.createRange();
  words.selectNodeContents(one);
  const opens = one.querySelector('.opens');
  if (opens) words.setEndBefore(opens);
  const line = parseFloat(getComputedStyle(one).lineHeight);
  const lines = Math.round(words.getBoundingClientRect().height / line);
  return [lines, one.scrollHeight - one.clientHeight, one.textContent];
})"""


def test_a_decision_is_read_whole_on_a_telephone_without_opening_it(demo, device):
    """What, where, how much, and a way to do it; it was ten words and an ellipsis."""
    page = device.join(demo.invite("dispatcher")).page
    found = page.evaluate(LINES_OF_DECISIONS)
    assert found != []
    for lines, cut_off, text in found:
        assert 1 <= lines <= 3, text
        assert cut_off <= 0, text
        assert "\u2026" not in text
    for matter in page.locator(".matter").all():
        assert matter.locator(".acts a, .opens").count() > 0
    held = [text for *_, text in found if text.startswith("In the bay")]
    assert held != []
    assert all(re.search(r"\d\W(kg|t)\b", text) for text in held)


def test_the_day_is_printed_whole_and_its_links_open_what_is_folded_without_a_script(
    demo, chromium, device
):
    link = demo.invite("dispatcher")
    state = device.join(link).context.storage_state()
    context = chromium.new_context(storage_state=state, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{demo.address}/screens/day")
    steps = page.locator(".vehicle > div > ol > .step")
    assert [one for one in steps.all() if one.is_visible()] == []
    page.get_by_role("link", name="Say what becomes of it").first.click()
    expect(page.locator("li:target")).to_be_in_viewport()
    heaps = demo.ask("GET", "/hold-entries?state=in_bay")["items"]
    assert any(len(heap["lot_codes"]) > 1 for heap in heaps)
    assert page.locator("form[action*='/day/held/']").count() == len(heaps)
    page.emulate_media(media="print")
    assert [one for one in steps.all() if not one.is_visible()] == []
    context.close()


def test_every_page_of_the_office_fits_a_telephone(demo, device):
    page = device.join(demo.invite("dispatcher")).page
    books = [f"setup/{name}" for name in ("work", "yard", "lawns", "beds", "sites", "vehicles")]
    wide = []
    for place in ("people", "lists", "setup", "day/suppose", *books):
        page.goto(f"{demo.address}/screens/{place}")
        page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")
        wide += [place] if wide_as(page) > 390 else []
    assert wide == []
    page = device.join(demo.owners_link).page
    for place in ("evening", "close", "month"):
        page.goto(f"{demo.address}/screens/{place}")
        assert wide_as(page) <= 390
        assert barriers(page) == []
    # Letters within a drawing shrink with it: on a telephone they were 12 px.
    assert page.locator(".bars text").count() == 0
    sizes = page.locator(".bars p").evaluate_all(
        "all => all.map((one) => parseFloat(getComputedStyle(one).fontSize))"
    )
    assert sizes != []
    assert min(sizes) >= 16


def test_a_form_that_is_refused_is_one_page_back_as_it_was_filled_in(demo, device):
    page = device.join(demo.invite("dispatcher")).page
    page.goto(f"{demo.address}/screens/people")
    page.get_by_label("Their name").fill("Kasia")
    page.get_by_role("button", name="Make a link", exact=True).click()
    expect(page.get_by_text("Crew: Choose one from the list.")).to_be_visible()
    expect(page.get_by_text("still there one page back")).to_be_visible()
    page.go_back()
    expect(page.get_by_label("Their name")).to_have_value("Kasia")


def test_a_page_of_two_hundred_jobs_is_forty_kilobytes_at_most(demo, device):
    joined = device.join(demo.invite("dispatcher"), 1280)
    body = joined.context.request.get(f"{demo.address}/screens/day").body()
    depot = demo.ask("GET", "/depots")["items"][0]["id"]
    lots = len(demo.ask("GET", f"/days/today/routing?depot_id={depot}")["routing"]["lots"])
    # Ids and names do not repeat, so a page grows no faster than its jobs.
    assert len(gzip.compress(body)) * 200 / lots <= 40_000


def test_what_is_vendored_is_what_its_list_says():
    told = tomllib.loads((VENDOR / "vendor.toml").read_text(encoding="utf-8"))["sha256"]
    held = {
        path.name: sha256(path.read_bytes()).hexdigest()
        for path in VENDOR.iterdir()
        if path.name != "vendor.toml"
    }
    assert held == told
