"""A treatment learned late and its recall, in a browser: read before it is kept, called off."""

import pytest
from playwright.sync_api import expect

from tests.journeys.browser.looks import WIDTHS, barriers, wide_as


@pytest.mark.parametrize("width", WIDTHS)
def test_a_treatment_learned_late_is_traced_recalled_and_called_off(demo, device, width):
    page = device.join(demo.invite("dispatcher"), width).page

    def looked_at():
        page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")
        assert wide_as(page) <= width
        assert barriers(page) == []

    beds = [one for one in demo.ask("GET", "/loads?limit=200")["items"] if delivered(one)]
    lawns = {job: demo.ask("GET", f"/jobs/{job}")["lawn_id"] for job in jobs_of(beds)}
    job = next(one for one, lawn in lawns.items() if lawn)
    code = demo.ask("GET", f"/jobs/{job}")["lot_code"]
    page.get_by_role("link", name="Trace grass").click()
    looked_at()
    page.get_by_role("link", name="Treatments").click()
    looked_at()
    page.locator("select[name=lawn]").select_option(lawns[job])
    page.get_by_label("Product, as on its label").fill(f"Pasture weed control {width}")
    page.get_by_label("Active ingredients").fill("aminopyralid")
    page.get_by_label("Day it was applied").fill("2026-05-19")
    page.get_by_label("Who said so").fill("T. Green")
    page.get_by_role("button", name="See what it changes").click()
    expect(page.get_by_text(code).first).to_be_visible()
    looked_at()
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("status")).to_contain_text("on record")
    expect(page.get_by_role("heading", name="Whom to call")).to_be_in_viewport()
    looked_at()
    page.get_by_label("Why, as it stands in every refusal").fill("Aminopyralid on the lawn.")
    page.get_by_role("button", name="Begin the recall").click()
    expect(page.get_by_text("still to call.")).to_be_visible()
    looked_at()
    page.get_by_label("What they said").first.fill("Leaves it where it lies.")
    page.get_by_role("button", name="Called").first.click()
    expect(page.get_by_text("Leaves it where it lies.")).to_be_in_viewport()
    looked_at()
    page.get_by_role("button", name="End it").click()
    expect(page.get_by_text("Ended")).to_be_visible()
    page.get_by_role("link", name="Recalls").click()
    looked_at()
    assert device.wrong == []
    # The day is that of other tests, too.
    kept = demo.ask("GET", f"/treatments?lawn_id={lawns[job]}")["items"][-1]
    never = {"Change-Reason": "It never was so.", "If-Match": "*"}
    demo.ask("DELETE", f"/treatments/{kept['id']}", said=never)


def delivered(load):
    told = (load["state"], load["destination_kind"], load["working_day"])
    return told == ("delivered", "bed", "2026-05-20")


def jobs_of(loads):
    return [part["job_id"] for load in loads for part in load["parts"]]
