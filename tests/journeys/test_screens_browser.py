"""The screens as people have them: the demo's day in Chromium, on a telephone and on a desk."""

import gzip
import json
import re
import secrets
import signal
import subprocess
import sys
import tomllib
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

import pytest
import requests
from playwright.sync_api import expect, sync_playwright

from service.core.callers.access import Role
from service.documents.rendering.reader import Reader
from service.gateways.time_and_ids import FreshIdentifiers
from service.storage.engine import make_engine
from service.storage.unit_of_work import unit_of_work_opener
from service.usecases.records.callers.api_keys import KeepKeys, KeyOf
from service.usecases.records.callers.found_firm import FoundFirm
from tests.fakes import SetClock
from tests.journeys.demo_process import LONGEST_START_S, demo_environment

CHROMIUM = "/usr/bin/chromium"
VENDOR = Path(__file__).parents[1] / "vendor" / "axe"
AXE = VENDOR / "axe.min.js"
COMMAND = "import sys; from service.cli import main; sys.exit(main())"
WIDTHS = (390, 1280)
LONGEST_DAY_PX = {390: 3500, 1280: 2500}
SENT_WITHIN_MS = 60_000
THREE_HOURS_AHEAD = """{
  const Real = Date;
  const hours = 3 * 3600 * 1000;
  globalThis.Date = class extends Real {
    constructor(...given) { super(...(given.length ? given : [Real.now() + hours])); }
    static now() { return Real.now() + hours; }
  };
}"""
UNTIL_ASKED_TO_WAKE = """async () => {
  const worker = await navigator.serviceWorker.ready;
  for (let n = 0; n < 100 && !(await worker.sync.getTags()).length; n += 1)
    await new Promise((done) => setTimeout(done, 100));
}"""
expect.set_options(timeout=30_000)


class Demo:
    """A demo that is served, that can be killed, and begun again with the same records."""

    def __init__(self, folder):
        self._folder = folder
        self.process = None
        self.port = None

    def begin(self, *more):
        words = ["--folder", str(self._folder), "--day", "2026-05-20", *more]
        if self.port is not None:
            words += ["--port", self.port]
        self.process = subprocess.Popen(
            [sys.executable, "-c", COMMAND, "demo", *words],
            cwd=Path(__file__).parents[2],
            env=demo_environment(),
            text=True,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        lines = []
        for line in self.process.stdout:
            lines.append(line)
            if line.startswith("Ctrl-C"):
                break
        text = "".join(lines)
        self.links = re.findall(r"http://\S+(/join/\S+)", text)
        self.key = re.search(r"paste the key (\S+) under", text)[1]
        self.port = re.search(r"127\.0\.0\.1:(\d+)/join", text)[1]
        self.address = f"http://127.0.0.1:{self.port}"

    def end(self, how=signal.SIGTERM):
        self.process.send_signal(how)
        self.process.wait(timeout=LONGEST_START_S)
        self.process.stdout.close()

    def invite(self, seat, **scope):
        """Return the address of one more link."""
        answer = self.ask("POST", "/sessions", json={"seat": seat, "name": "Dana", **scope})
        return answer["link"]

    def found(self):
        """Keep a firm of nothing but its name, and return a link for its owner."""
        engine = make_engine(f"sqlite:///{self._folder / 'records.sqlite'}")
        handed = {
            "open_unit_of_work": unit_of_work_opener(engine),
            "clock": SetClock(datetime(2026, 5, 20, 9, 0, tzinfo=UTC)),
            "identifiers": FreshIdentifiers(),
        }
        firm = FoundFirm(**handed)(
            name="Ash Lawns", address="1 Ash Road", phone="01632 960111", currency="GBP"
        )
        keys = KeepKeys(**handed, make_secret=secrets.token_urlsafe)
        secret = keys.make(firm.id, KeyOf(role=Role.OWNER, name="test")).secret
        engine.dispose()
        answer = requests.post(
            f"{self.address}/sessions",
            json={"seat": "owner", "name": "Olu"},
            headers={"Authorization": f"Bearer {secret}"},
            timeout=60,
        )
        answer.raise_for_status()
        return answer.json()["link"]

    def ask(self, method, path, **more):
        headers = {"Authorization": f"Bearer {self.key}"}
        answer = requests.request(
            method, f"{self.address}{path}", headers=headers, timeout=60, **more
        )
        answer.raise_for_status()
        return answer.json()


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    served = Demo(tmp_path_factory.mktemp("screens") / "records")
    served.begin()
    yield served
    served.end()


@pytest.fixture(scope="module")
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM)
        yield browser
        browser.close()


@pytest.fixture
def device(chromium, demo):
    """Return what joins as somebody at a width; what went wrong in it is told at the end."""
    wrong, contexts = [], []

    def opened(link, width=390):
        context = chromium.new_context(viewport={"width": width, "height": 780})
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda fault: wrong.append(str(fault)))
        page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
        page.on("request", lambda asked: wrong.append(asked.url) if foreign(asked.url) else None)
        page.goto(link)
        return SimpleNamespace(page=page, context=context)

    def join(link, width=390):
        joined = opened(link, width)
        joined.page.get_by_role("button", name="Join on this device").click()
        joined.page.wait_for_url("**/screens/**")
        return joined

    def foreign(url):
        return not url.startswith((demo.address, "data:", "blob:"))

    yield SimpleNamespace(join=join, opened=opened, wrong=wrong)
    for context in contexts:
        context.close()


def wide_as(page):
    return page.evaluate("document.documentElement.scrollWidth")


def barriers(page):
    """Return what of WCAG 2.2, A and AA, and of good practice a page breaks, by axe-core."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    rules = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]
    found = page.evaluate("rules => axe.run({ runOnly: rules })", rules)
    return [(one["id"], one["nodes"][0]["html"][:120]) for one in found["violations"]]


def low_controls(page):
    """Return the controls of the next stop that are lower than 56 px; a box counts by its label."""
    return page.evaluate(
        """() => [...document.querySelectorAll(
              '.now button, .now summary, .now .choices label, .now .pair input')]
          .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 56)
          .map((one) => one.outerHTML.slice(0, 120))"""
    )


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
    page.evaluate("document.querySelectorAll('.fold').forEach((one) => one.open = true)")
    assert wide_as(page) <= width
    assert barriers(page) == []
    page.get_by_role("link", name="Would another order of the lawns save something?").click()
    expect(page.get_by_role("button", name="Look for a better order")).to_be_visible()
    assert wide_as(page) <= width
    assert barriers(page) == []
    assert device.wrong == []


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
    page.get_by_role("link", name="Show it").first.click()
    expect(page.locator("li:target")).to_be_in_viewport()
    heaps = demo.ask("GET", "/hold-entries?state=in_bay")["items"]
    assert any(len(heap["lot_codes"]) > 1 for heap in heaps)
    assert page.locator("form[action*='/day/held/']").count() == len(heaps)
    page.emulate_media(media="print")
    assert [one for one in steps.all() if not one.is_visible()] == []
    context.close()


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


def test_every_page_of_the_office_fits_a_telephone(demo, device):
    page = device.join(demo.invite("dispatcher")).page
    books = [f"setup/{name}" for name in ("work", "yard", "lawns", "beds", "sites", "vehicles")]
    wide = []
    for place in ("people", "lists", "setup", "day/suppose", *books):
        page.goto(f"{demo.address}/screens/{place}")
        page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")
        wide += [place] if wide_as(page) > 390 else []
    assert wide == []


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
    expect(state).to_have_text("All reports are on record.", timeout=SENT_WITHIN_MS)
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
    expect(state).to_contain_text(
        own.text("offline.not_taken.one").format(n=1), timeout=SENT_WITHIN_MS
    )
    refused = page.locator("#refused")
    expect(refused.get_by_text(own.text("fault.number").partition("{")[0])).to_be_visible()
    refused.get_by_label(own.text("round.area").partition(" ")[0]).fill("120")
    refused.get_by_role("button", name=own.text("offline.send_again")).click()
    expect(state).to_have_text(own.text("offline.all_kept"), timeout=SENT_WITHIN_MS)
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
        expect(page.locator(f"#{card}.now")).to_have_count(0, timeout=SENT_WITHIN_MS)
    page.locator(".now .bar > summary").click()
    page.locator(".now input[name=weighed_kg]").fill("15")
    page.locator(".now button[value=delivered]").click()
    expect(state).to_contain_text(
        own.text("offline.not_taken.one").format(n=1), timeout=SENT_WITHIN_MS
    )
    refused = page.locator("#refused")
    refused.get_by_label(own.text("round.ticket")).fill("W-77")
    refused.get_by_role("button", name=own.text("offline.send_again")).click()
    expect(state).to_have_text(own.text("offline.all_kept"), timeout=SENT_WITHIN_MS)
    expect(refused).to_be_hidden()


def test_a_report_made_before_the_telephone_ever_heard_the_time_there_arrives_with_it(demo, device):
    lead = crew(demo, "Wren")
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
    expect(state).to_have_text(own.text("offline.all_kept"), timeout=SENT_WITHIN_MS)
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
    expect(state).to_contain_text("not known any more", timeout=SENT_WITHIN_MS)
    expect(state).to_contain_text("1 report not sent yet.")
    assert json.dumps(device.wrong).count("401") >= 1
    before = len(reported(demo, lead["id"]))
    page.goto(demo.invite("crew", crew_id=lead["id"]))
    page.get_by_role("button", name="Join on this device").click()
    expect(state).to_have_text("All reports are on record.", timeout=SENT_WITHIN_MS)
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
    for waited in range(120):
        fresh = [job for job in reported(demo, lead["id"]) if job["id"] not in before]
        if fresh:
            break
        if waited % 20 == 19:  # an event that came while it was offline comes again in minutes
            dispatch_again(browser, demo.address, known)
        page.wait_for_timeout(500)
    (job,) = fresh
    cut, kept = (datetime.fromisoformat(job[name]) for name in ("cut_at", "updated_at"))
    assert abs((kept - cut).total_seconds()) < 120


SHEETS = {
    "vehicles": "registration,payload_kg,body_volume_m3\nAA1,900,4.5\nAA2,1100,6.5\n",
    "crews": "name,lead,vehicle,language\nRobin,Dana,AA1,en\nWren,Kasia,AA2,pl\n",
    "lawns": "client,address,locality,point,area\n"
    + "".join(
        f'Client {n},{n} Elm Street,Anytown,"51.75{n:02}, -1.25{n:02}",{200 + n}\n'
        for n in range(12)
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
    for number, choice in enumerate(page.locator("td select").all()):
        choice.select_option(label="Robin" if number % 2 else "Wren")
    page.get_by_label("Taken off").fill("30")
    page.get_by_label("What was put on these lawns").select_option("none_recorded")
    fits()
    page.get_by_role("button", name="Keep it and plan the day").click()
    first = page.locator(".vehicle").first
    expect(first).to_be_visible(timeout=SENT_WITHIN_MS)
    first.locator("summary").first.click()
    expect(page.get_by_text("Tip at Hill compost").first).to_be_visible()
    fits()
    assert device.wrong == []
