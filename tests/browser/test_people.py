"""Every page for everybody: read out, by keys, in the dark, on a phone; nothing cut off, nothing complained of."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import OpenPage, Sight
from tests.support.serving import Server, demo_shelf, needs_second_loopback, put, serving, state
from tests.support.workbench import ended

AXE = Path(__file__).parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"
PAGES = {
    "shelf": "#/",
    "new": "#/new",
    "scale": "#/scale",
    "boat": "#/wren/boat",
    "weights": "#/wren/weights",
    "weights with faults": "#/faulty/weights",
    "boat with faults": "#/faulty/boat",
    "tank": "#/wren/tank",
    "trim": "#/wren/trim",
    "hull": "#/wren/hull",
    "fit": "#/wren/fit",
    "stability": "#/wren/stability",
    "trace": "#/wren/trace",
    "measures": "#/wren/measures",
    "versions": "#/wren/versions",
    "prints": "#/wren/prints",
    "no such page": "#/wren/nowhere",
    "no such boat": "#/nobody/boat",
}
NARROW = Sight(390, 844, touch=True)
STEPS_OF_TAB = 25

CUT_OFF = """() => {
  const names = "h1, h2, h3, h4, nav a span, label, legend, [role=tab], .name, dt, th";
  const hidden = (e) => e.closest(".unseen, .skip") || !e.checkVisibility({ visibilityProperty: true });
  return [...document.querySelectorAll(names)]
    .filter((e) => !hidden(e) && e.clientWidth > 1)
    .filter((e) => e.scrollWidth > e.clientWidth + 1 || e.getBoundingClientRect().right > innerWidth + 1)
    .filter((e) => !scrolls(e.parentElement))
    .map((e) => `${e.tagName.toLowerCase()}: ${e.textContent.trim().slice(0, 60)}`);
  function scrolls(e) {
    for (; e && e !== document.body; e = e.parentElement)
      if (/auto|scroll/.test(getComputedStyle(e).overflowX) && e.scrollWidth > e.clientWidth + 1) return true;
    return false;
  }
}"""
"""Headings and names that do not fit; those in something that is made to be scrolled across are reached by that."""

WIDER_THAN_THE_WINDOW = """() => [document.documentElement, document.body, ...document.querySelectorAll("main")]
  .filter((e) => e.scrollWidth > e.clientWidth + 1)
  .map((e) => `${e.tagName.toLowerCase()}: ${e.scrollWidth} in ${e.clientWidth}`)"""

STILL = """() => Promise.allSettled([
  document.fonts.ready,
  ...document.getAnimations()
    .filter((one) => one.effect.getComputedTiming().endTime < Infinity)
    .map((one) => one.finished),
]).then(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))))"""
"""Letters are there, colours that change by and by have changed, and all of it has been drawn."""

FOCUS = """() => {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const styles = () => [e, e.closest("label"), e.parentElement].filter(Boolean).map((one) => {
    const s = getComputedStyle(one), after = getComputedStyle(one, "::after");
    return [s.outlineStyle === "none" ? "" : s.outlineWidth + s.outlineColor, s.boxShadow, s.borderColor,
      s.backgroundColor, s.translate, after.borderColor, after.boxShadow,
      after.outlineStyle === "none" ? "" : after.outlineWidth].join("|");
  }).join("||");
  const focused = styles();
  e.blur();
  const plain = styles();
  e.focus({ preventScroll: true });
  return {
    seen: focused !== plain,
    what: `${e.tagName.toLowerCase()} ${e.getAttribute("aria-label") ?? e.textContent.trim().slice(0, 40)}`,
  };
}"""
"""Whether the element that has the focus looks different from when it has not."""


@dataclass(frozen=True)
class Faces:
    """A server with a boat in every state that a page can show."""

    server: Server


@pytest.fixture(scope="module")
def faces(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Faces]:
    shelf = demo_shelf(tmp_path_factory.mktemp("people") / "shelf")
    with serving(shelf) as server, server.client() as client:
        faulty = client.post("/api/boats", json={"name": "Faulty", "hull": {"source": "demo"}})
        assert faulty.status_code == 200, faulty.text
        base = state(client, "faulty")["revision"]
        assert put(client, base, ["part", 3, "mass", "value"], "506 kilos", boat="faulty").status_code == 200
        # A trim that is written, with a named version behind it: more to look at than on a new boat.
        solved = ended(client, client.post("/api/boats/wren/trim", json={"seconds": 5}))
        step = client.get("/api/boats/wren/steps").json()["steps"][0]["step"]
        client.post(f"/api/boats/wren/steps/{step}/name", json={"name": "Before the lead"})
        base = state(client)["revision"]
        applied = client.post("/api/boats/wren/trim/apply", json={"base": base, "job": solved["job"]})
        assert applied.status_code == 200, applied.text
        yield Faces(server)


def settled(page: Page) -> None:
    """All that the page fetches is there and drawn."""
    # on a fresh checkout the first piece of work compiles its arithmetic before it answers
    page.wait_for_load_state("networkidle", timeout=120_000)
    expect(page.locator(".wait")).to_have_count(0)
    expect(page.locator("main h1, main h2, main [role=application]").first).to_be_attached()
    page.evaluate(STILL)


def serious(page: Page, *rules: str) -> list[tuple[str, list[str]]]:
    """What axe finds that keeps somebody out."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text("utf-8"))
    run = {"runOnly": {"type": "rule", "values": list(rules)}} if rules else {}
    found: list[dict[str, Any]] = page.evaluate("(run) => axe.run(run).then((r) => r.violations)", run)
    return [
        (one["id"], [f"{node['html'][:160]} {node['failureSummary'][:200]}" for node in one["nodes"][:4]])
        for one in found
        if one["impact"] in ("serious", "critical")
    ]


def darken(page: Page) -> None:
    """The page as it opens in the dark; what is out of sight would keep the colours of the light for a while."""
    page.emulate_media(color_scheme="dark")
    page.reload()
    settled(page)


@pytest.fixture(params=PAGES)
def address(request: pytest.FixtureRequest, faces: Faces, pardoned: list[str]) -> str:
    if request.param == "no such boat":
        pardoned.append("status of 404")  # asked for on purpose
    return f"{faces.server.address}/{PAGES[request.param]}"


def test_axe_finds_nothing_serious_in_the_light_and_in_the_dark(address: str, open_page: OpenPage) -> None:
    page = open_page(address)
    settled(page)
    assert serious(page) == []
    darken(page)
    assert serious(page, "color-contrast") == []


def test_on_a_phone_nothing_is_cut_off_and_axe_finds_nothing_serious(
    address: str, open_page: OpenPage
) -> None:
    page = open_page(address, NARROW)
    settled(page)
    assert page.evaluate(WIDER_THAN_THE_WINDOW) == []
    assert page.evaluate(CUT_OFF) == []
    assert serious(page) == []
    darken(page)
    assert serious(page, "color-contrast") == []


def test_whatever_has_the_focus_shows_it(address: str, open_page: OpenPage) -> None:
    page = open_page(address)
    settled(page)
    unseen, reached = [], set()
    for _ in range(STEPS_OF_TAB):
        page.keyboard.press("Tab")
        focus = page.evaluate(FOCUS)
        if focus is None:
            continue
        reached.add(focus["what"])
        if not focus["seen"]:
            unseen.append(focus["what"])
    assert unseen == []
    assert len(reached) >= 4  # the way past the frame, the shelf, and what the page itself has


@needs_second_loopback
@pytest.mark.parametrize("sight", [NARROW, Sight(390, 844, "dark", touch=True)], ids=["light", "dark"])
def test_the_page_of_a_phone_that_is_not_paired(
    tmp_path: Path, browser: Browser, open_page: OpenPage, sight: Sight
) -> None:
    with serving(demo_shelf(tmp_path / "shelf"), network=True, DABCHICK_CONFIG="off") as server:
        page = open_page(f"{server.network_address}/#/pair?code=ABCD2345", sight)
        expect(page.get_by_label("Code")).to_have_value("ABCD2345")
        assert page.evaluate(WIDER_THAN_THE_WINDOW) == []
        assert page.evaluate(CUT_OFF) == []
        assert serious(page) == []


def test_figures_turn_into_inches_at_a_click_and_back(faces: Faces, open_page: OpenPage) -> None:
    page = open_page(f"{faces.server.address}/#/wren/boat")
    settled(page)
    figures = page.locator("main")
    expect(figures).to_contain_text(re.compile(r"\d\smm"))
    page.get_by_role("radio", name="in · oz").click()
    expect(page.get_by_role("region", name="Parts")).to_contain_text(re.compile(r"\d\soz"))
    page.get_by_role("radio", name="mm · g").click()
    expect(page.get_by_role("region", name="Parts")).to_contain_text(re.compile(r"\d\sg"))


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_system_s_theme_is_followed_until_another_is_chosen(
    faces: Faces, open_page: OpenPage, theme: str
) -> None:
    def paper(page: Page) -> int:
        """Lightness of the ground, 0 to 765."""
        colour = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
        return sum(int(one) for one in re.findall(r"\d+", colour)[:3])

    page = open_page(f"{faces.server.address}/#/", Sight(theme=theme))
    settled(page)
    assert (paper(page) > 382) == (theme == "light")
    other = "Dark" if theme == "light" else "Light"
    page.get_by_role("button", name="Light or dark").click()
    page.get_by_role("menuitemcheckbox", name=other).click()
    expect(page.locator("html")).to_have_attribute("data-theme", other.lower())
    page.evaluate(STILL)
    assert (paper(page) > 382) == (theme == "dark")
    page.reload()
    settled(page)
    assert (paper(page) > 382) == (theme == "dark")
