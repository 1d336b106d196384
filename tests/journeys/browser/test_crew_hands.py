"""A crew's screen in gloves and sun: large, apart, strong in contrast, the next act in reach."""

import pytest
from playwright.sync_api import expect

from tests.journeys.browser.conftest import Demo

# 56 px, 8 px apart, 7:1 (WCAG 2.2, 1.4.6): what gloves and sun ask for beyond the guidelines' AA.
MEASURED = """() => {
  // What keeps a report lies over the form that is rolled under it: what is hidden is no part.
  const box = (one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    const over = one.closest('form')?.querySelector('.keep');
    const edge = over && !over.contains(one) ? over.getBoundingClientRect().top : Infinity;
    return { left, right, top, bottom: Math.min(bottom, edge), hidden: top >= edge };
  };
  const shown = [...document.querySelectorAll('a, button, summary, input, select, .choices label')]
    .filter((one) => one.checkVisibility() && one.getBoundingClientRect().width > 2)
    .filter((one) => !(one.matches('[type=radio], [type=checkbox]') && one.closest('label')))
    .filter((one) => !box(one).hidden);
  const told = (one) => `${one.tagName} ${one.innerText || one.name}`.slice(0, 50);
  const apart = (a, b) => Math.hypot(
    Math.max(a.left - b.right, b.left - a.right, 0),
    Math.max(a.top - b.bottom, b.top - a.bottom, 0),
  );
  const pairs = shown.flatMap((one, at) => shown.slice(at + 1).map((two) => [one, two]))
    .filter(([one, two]) => !one.contains(two) && !two.contains(one))
    .filter(([one, two]) => one.closest('.bar') === two.closest('.bar'));
  const light = (colour) => colour.map((part) => part / 255)
    .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4))
    .reduce((sum, part, at) => sum + part * [0.2126, 0.7152, 0.0722][at], 0);
  const parts = (text) => (text.match(/[\\d.]+/g) ?? []).map(Number);
  const ground = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = parts(getComputedStyle(at).backgroundColor);
      if (colour.length < 4 || colour[3] > 0) return colour.slice(0, 3);
    }
    return parts(getComputedStyle(document.body).backgroundColor).slice(0, 3);
  };
  const contrast = (one) => {
    const [a, b] = [parts(getComputedStyle(one).color).slice(0, 3), ground(one)].map(light);
    return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  };
  const words = [...document.querySelectorAll('body *')].filter((one) => one.checkVisibility()
    && [...one.childNodes].some((part) => part.nodeType === 3 && part.data.trim()));
  return {
    low: shown.filter((one) => one.getBoundingClientRect().height < 55.9).map(told),
    close: pairs.filter(([a, b]) => apart(box(a), box(b)) < 7.9).map((pair) => pair.map(told)),
    faint: words.filter((one) => contrast(one) < 7).map(told),
    wide: document.documentElement.scrollWidth > innerWidth,
  };
}"""
NOTHING = {"low": [], "close": [], "faint": [], "wide": False}


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """Return a day of its own: what others report of a crew ends its next act."""
    served = Demo(tmp_path_factory.mktemp("hands") / "records")
    served.begin()
    yield served
    served.end()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 360, 390])
def test_gloves_and_sun_find_every_control_and_the_next_act_is_below(demo, device, width, scheme):
    crews = demo.ask("GET", "/crews")["items"]
    (lead,) = [one for one in crews if one["name"] == "Wren"]
    page = device.join(demo.invite("crew", crew_id=lead["id"]), width).page
    page.emulate_media(color_scheme=scheme)
    assert page.evaluate(MEASURED) == NOTHING
    bar = page.locator(".now .bar")
    assert bar.locator("summary").first.bounding_box()["y"] > 780 / 2
    bar.locator("summary").first.click()
    assert page.evaluate(MEASURED) == NOTHING
    # On the narrowest telephone what keeps the report lay below the edge.
    keep = bar.locator("button.main").first
    expect(keep).to_be_in_viewport(ratio=1)
    assert keep.bounding_box()["y"] > 780 / 2
    bar.locator("summary").first.click()
    for more in page.locator("main details:not(.bar):not([open]) > summary").all():
        if more.is_visible():
            more.click()
    assert page.evaluate(MEASURED) == NOTHING
