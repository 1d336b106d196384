"""What a crew reports arrives once: with no signal, with the server gone, with the page closed."""

import json
import signal
from datetime import datetime

from playwright.sync_api import expect

from service.documents.rendering.reader import Reader
from tests.effort import LOST_AFTER_S
from tests.journeys.browser.looks import barriers, wide_as

THREE_HOURS_AHEAD = """{
  const Real = Date;
  const hours = 3 * 3600 * 1000;
  globalThis.Date = class extends Real {
    constructor(...given) { super(...(given.length ? given : [Real.now() + hours])); }
    static now() { return Real.now() + hours; }
  };
}"""
# What is asked for at `held` comes when the test lets it come, by this clock so much later.
HELD_BACK = """{
  const Real = Date;
  let late = 0;
  globalThis.Date = class extends Real {
    constructor(...given) { super(...(given.length ? given : [Real.now() + late])); }
    static now() { return Real.now() + late; }
  };
  const fetched = fetch;
  const waiting = [];
  let tell = null;
  globalThis.untilHeld = () => new Promise((go) => (waiting.length ? go() : (tell = go)));
  globalThis.letCome = (ms) => { late += ms; waiting.splice(0).forEach((go) => go()); };
  globalThis.fetch = async (address, more) => {
    const answer = await fetched(address, more);
    if (address === globalThis.held)
      await new Promise((go) => { waiting.push(go); tell?.(); });
    return answer;
  };
}"""
CLOCK_AHEAD_MS = "localStorage.getItem('clock-ahead-ms')"
UNTIL_ASKED_TO_WAKE = """async () => {
  const worker = await navigator.serviceWorker.ready;
  for (let n = 0; n < 1200 && !(await worker.sync.getTags()).length; n += 1)
    await new Promise((done) => setTimeout(done, 100));
}"""


def low_controls(page):
    """Return the controls of the next stop that are lower than 56 px; a box counts by its label."""
    return page.evaluate(
        """() => [...document.querySelectorAll(
              '.now button, .now summary, .now .choices label, .now .pair input')]
          .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 56)
          .map((one) => one.outerHTML.slice(0, 120))"""
    )


def crew(demo, name):
    (found,) = [one for one in demo.ask("GET", "/crews")["items"] if one["name"] == name]
    return found


def reported(demo, crew_id):
    jobs = demo.ask("GET", f"/jobs?crew_id={crew_id}&state=mown&limit=100")["items"]
    return [job for job in jobs if job["version"] > 1 and job["cut_at"] >= "2026-05-20T09:59"]


def mow(page):
    page.locator(".now .bar > summary").click()
    page.locator(".now .bar button.main").first.click()


def test_a_lead_reports_with_no_signal_and_the_server_gone_and_each_arrives_once(demo, device):
    lead = crew(demo, "Heron")
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, state = joined.page, joined.page.locator("#state")
    expect(state).to_have_text("All reports are on record.")
    assert wide_as(page) <= 390
    assert barriers(page) == []
    assert low_controls(page) == []
    assert page.locator(".now .bar > summary").bounding_box()["y"] > 780 / 2
    page.locator(".now .bar > summary").click()
    assert low_controls(page) == []
    page.locator(".now .bar > summary").click()
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    before = len(reported(demo, lead["id"]))

    joined.context.set_offline(True)
    page.reload()
    mow(page)
    expect(state).to_contain_text("1 report not sent yet.")
    demo.end(signal.SIGKILL)
    joined.context.set_offline(False)
    page.reload()
    expect(state).to_contain_text("1 report not sent yet.")
    assert "All reports" not in state.inner_text()

    demo.begin("--keep")
    expect(state).to_have_text("All reports are on record.")
    assert len(reported(demo, lead["id"])) == before + 1


def test_what_is_not_taken_stands_apart_until_it_is_mended(demo, device):
    lead = crew(demo, "Kestrel")
    own = Reader(lead["language"])
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, state = joined.page, joined.page.locator("#state")
    while (
        page.locator(".now .bar").count() == 0 or page.locator(".now input[name=area]").count() == 0
    ):
        page.locator(
            ".card:not(.now) h2 a", has_text=own.text("round.mow").partition("{")[0]
        ).first.click()
    page.locator(".now .bar > summary").click()
    page.locator(".now input[name=area]").fill("none")
    page.locator(".now .bar button.main").first.click()
    expect(state).to_contain_text(own.text("offline.not_taken.one").format(n=1))
    refused = page.locator("#refused")
    expect(refused.get_by_text(own.text("fault.number").partition("{")[0])).to_be_visible()
    refused.get_by_label(own.text("round.area").partition(" ")[0]).fill("120")
    refused.get_by_role("button", name=own.text("offline.send_again")).click()
    expect(state).to_have_text(own.text("offline.all_kept"))
    expect(refused).to_be_hidden()
    areas = [job["area_mowed"]["value"] for job in reported(demo, lead["id"])]
    assert 120 in areas


def test_what_was_left_empty_can_be_filled_in_where_it_is_asked_for(demo, device):
    lead = crew(demo, "Wren")
    own = Reader(lead["language"])
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, state = joined.page, joined.page.locator("#state")
    while page.locator(".now button[value=delivered]").count() == 0:
        card = page.locator(".card.now").get_attribute("id")
        mow(page)
        expect(page.locator(f"#{card}.now")).to_have_count(0)
    page.locator(".now .bar > summary").click()
    page.locator(".now input[name=weighed_kg]").fill("15")
    page.locator(".now button[value=delivered]").click()
    expect(state).to_contain_text(own.text("offline.not_taken.one").format(n=1))
    refused = page.locator("#refused")
    refused.get_by_label(own.text("round.ticket")).fill("W-77")
    refused.get_by_role("button", name=own.text("offline.send_again")).click()
    expect(state).to_have_text(own.text("offline.all_kept"))
    expect(refused).to_be_hidden()


def test_a_report_made_before_the_telephone_ever_heard_the_time_there_arrives_with_it(demo, device):
    lead = crew(demo, "Lapwing")
    own = Reader(lead["language"])
    before = len(reported(demo, lead["id"]))
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, state = joined.page, joined.page.locator("#state")
    joined.context.route("**/screens/round/mark", lambda asked: asked.abort())
    page.evaluate("localStorage.clear()")
    page.reload()
    page.locator(".card h2 a", has_text=own.text("round.mow").partition("{")[0]).first.click()
    mow(page)
    expect(state).to_contain_text(own.text("offline.not_sent.one").format(n=1))
    joined.context.unroute("**/screens/round/mark")
    expect(state).to_have_text(own.text("offline.all_kept"))
    assert len(reported(demo, lead["id"])) == before + 1


def on_a_slow_line(demo, device, name):
    """Return whose crew it is, its page, and its words; the page can be made to wait."""
    lead = crew(demo, name)
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, own = joined.page, Reader(lead["language"])
    page.add_init_script(HELD_BACK)
    page.reload()
    expect(page.locator("#state")).to_have_text(own.text("offline.all_kept"))
    return lead, page, own


def test_a_form_that_is_opened_while_news_is_on_its_way_is_not_taken_away(demo, device):
    lead, page, own = on_a_slow_line(demo, device, "Dunnock")
    before = len(reported(demo, lead["id"]))
    page.evaluate("held = '/screens/round/'")
    card = page.locator(".card.now").get_attribute("id")
    mow(page)
    expect(page.locator(f"#{card}.now")).to_have_count(0)  # kept; news asked for before may be held
    page.evaluate("untilHeld()")
    page.locator(".now .bar > summary").click()
    opened = page.locator(".now .bar").element_handle()
    with page.expect_response("**/screens/round/mark"):
        page.evaluate("letCome(0)")
    assert opened.evaluate("one => one.isConnected && one.open")
    card = page.locator(".card.now").get_attribute("id")
    page.locator(".now .bar button.main").first.click()
    expect(page.locator(f"#{card}.now")).to_have_count(0)
    expect(page.locator("#state")).to_have_text(own.text("offline.all_kept"))
    assert len(reported(demo, lead["id"])) == before + 2


def test_an_answer_that_is_ten_seconds_old_does_not_put_the_clock_back(demo, device):
    _, page, _ = on_a_slow_line(demo, device, "Dunnock")
    page.evaluate("held = '/screens/round/mark'")
    page.evaluate("untilHeld()")
    page.evaluate("letCome(0)")
    page.evaluate("untilHeld()")  # by the next: what came has been heard
    before = int(page.evaluate(CLOCK_AHEAD_MS))
    page.evaluate("letCome(10_000)")
    page.evaluate("untilHeld()")
    assert abs(int(page.evaluate(CLOCK_AHEAD_MS)) - before) < 5_000


def test_what_was_reported_stays_so_while_news_of_it_does_not_get_through(demo, device):
    lead = crew(demo, "Robin")
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, state = joined.page, joined.page.locator("#state")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()  # so that the worker has the page
    expect(state).to_have_text("All reports are on record.")
    joined.context.route("**/screens/round/", lambda asked: asked.abort())
    card = page.locator(".card.now").get_attribute("id")
    mow(page)
    for _ in range(3):  # by the third it has looked since its report was kept
        with page.expect_response("**/screens/round/mark"):
            pass
    expect(page.locator(f"#{card}.now")).to_have_count(0)
    expect(page.locator(f"#{card}.sent-later")).to_be_visible()


def test_two_taps_are_one_report(demo, device):
    lead, page, own = on_a_slow_line(demo, device, "Dunnock")
    before = len(reported(demo, lead["id"]))
    page.locator(".now .bar > summary").click()
    card = page.locator(".card.now").get_attribute("id")
    page.locator(".now .bar button.main").first.evaluate("one => { one.click(); one.click(); }")
    expect(page.locator(f"#{card}.now")).to_have_count(0)
    expect(page.locator("#state")).to_have_text(own.text("offline.all_kept"))
    assert len(reported(demo, lead["id"])) == before + 1


def sessions_of(demo):
    return {one["id"] for one in demo.ask("GET", "/sessions?limit=200")["items"]}


def test_who_is_shown_out_keeps_what_was_not_sent_and_goes_on_after_joining_again(demo, device):
    lead = crew(demo, "Plover")
    others = sessions_of(demo)
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, state = joined.page, joined.page.locator("#state")
    expect(state).to_have_text("All reports are on record.")
    # By which it is, not by its time: a demo that was begun again goes on from its last record.
    (own,) = sessions_of(demo) - others
    demo.ask("POST", f"/sessions/{own}/end")
    mow(page)
    expect(state).to_contain_text("not known any more")
    expect(state).to_contain_text("1 report not sent yet.")
    assert json.dumps(device.wrong).count("401") >= 1
    before = len(reported(demo, lead["id"]))
    page.goto(demo.invite("crew", crew_id=lead["id"]))
    page.get_by_role("button", name="Join on this device").click()
    expect(state).to_have_text("All reports are on record.")
    assert len(reported(demo, lead["id"])) == before + 1


def dispatch_again(browser, address, known):
    """Let the browser send its worker the event now that it sends by itself later."""
    registrations = [one for told in known for one in told["registrations"]]
    browser.send(
        "ServiceWorker.dispatchSyncEvent",
        {
            "origin": address,
            "registrationId": registrations[-1]["registrationId"],
            "tag": "round",
            "lastChance": False,
        },
    )


def test_a_report_goes_out_by_the_worker_when_the_page_is_closed_and_its_clock_is_wrong(
    demo, device
):
    lead = crew(demo, "Curlew")
    joined = device.join(demo.invite("crew", crew_id=lead["id"]))
    page, state = joined.page, joined.page.locator("#state")
    page.add_init_script(THREE_HOURS_AHEAD)
    page.reload()
    expect(state).to_have_text("All reports are on record.")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()  # so that the worker has the page
    expect(state).to_have_text("All reports are on record.")
    before = {job["id"] for job in reported(demo, lead["id"])}
    joined.context.set_offline(True)
    while page.locator(".now input[name=area]").count() == 0:
        page.locator(".card:not(.now) h2 a", has_text="Mow ").first.click()
    mow(page)
    expect(state).to_contain_text("1 report not sent yet.")
    page.evaluate(UNTIL_ASKED_TO_WAKE)
    browser = joined.context.new_cdp_session(page)
    known = []

    def learn(told):
        known.append(told)

    browser.on("ServiceWorker.workerRegistrationUpdated", learn)
    browser.send("ServiceWorker.enable")
    page.goto("about:blank")
    joined.context.set_offline(False)
    fresh = []
    for waited in range(2 * LOST_AFTER_S):
        fresh = [job for job in reported(demo, lead["id"]) if job["id"] not in before]
        if fresh:
            break
        if waited % 20 == 19:  # an event that came while it was offline comes again in minutes
            dispatch_again(browser, demo.address, known)
        page.wait_for_timeout(500)
    (job,) = fresh
    cut, kept = (datetime.fromisoformat(job[name]) for name in ("cut_at", "updated_at"))
    assert abs((kept - cut).total_seconds()) < 3600  # the telephone's own clock says three hours
