"""Trapped air on the fit page in a real browser: sliders, figures, a vent made by a click and taken back."""

import re
import tomllib

import pytest
from playwright.sync_api import Page, expect

from dabchick.storage.folder import open_boat
from dabchick.studies import air
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound

PHONE = Sight(390, 844, touch=True)


def answered(page: Page) -> Page:
    page.get_by_role("button", name=re.compile("^Trapped air")).click()
    expect(page.get_by_role("heading", name="Pockets")).to_be_visible(timeout=90_000)
    return page


def openings(workbench: Workbench) -> int:
    return len(tomllib.loads(workbench.text)["hull"]["openings"])


def with_vents(page: Page) -> Page:
    page.get_by_role("button", name="Find vents").click()
    expect(page.get_by_role("columnheader", name="With all of them")).to_be_visible(timeout=120_000)
    return page


def test_sliders_show_what_the_study_says(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("fit")))
    page.get_by_label("Pitch", exact=True).fill("15")
    expect(page.get_by_role("heading", level=2)).to_contain_text("15 deg bow up")
    result = air.run(open_boat(workbench.shelf / workbench.boat).vessel, pitch_deg=15.0, rest=False)
    expect(page.get_by_label("Figures").get_by_text(f"{result.volume_m3 * 1e6:.1f} ml")).to_be_visible()
    first = page.get_by_role("row", name=re.compile("^A "))
    expect(first).to_contain_text(f"{result.pockets[0].lift_kg * 1e3:.1f} g")
    page.get_by_label("Heel", exact=True).press("ArrowRight")
    expect(page.get_by_role("heading", level=2)).to_contain_text("1 deg to starboard")


def test_an_answer_does_not_ask_again(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("fit")))
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    # several times as long as a moved slider waits before it asks
    page.wait_for_timeout(1000)
    assert [url for url in asked if "/air" in url] == []


def test_a_depth_that_is_none_is_explained(
    workbench: Workbench, open_page: OpenPage, pardoned: list[str]
) -> None:
    # a refused question is one line in the browser's console
    pardoned.append("422")
    page = answered(open_page(workbench.at("fit")))
    depth = page.get_by_label("Water over her")
    depth.fill("deep")
    depth.press("Enter")
    expect(depth).to_have_attribute("aria-invalid", "true")
    depth.fill("2 m")
    depth.press("Enter")
    expect(page.get_by_role("heading", level=2)).to_contain_text("under 2 m of water")


def test_a_vent_is_made_by_a_click_and_taken_back(workbench: Workbench, open_page: OpenPage) -> None:
    page = with_vents(answered(open_page(workbench.at("fit"))))
    before, count = workbench.text, openings(workbench)
    page.get_by_role("button", name=re.compile("^Make (it|both): ")).first.click()
    expect(page.get_by_text("written into the boat file").first).to_be_visible()
    assert openings(workbench) > count
    expect(page.get_by_text("The boat has changed since")).to_be_visible()
    page.keyboard.press("Control+z")
    expect(page.get_by_text("The boat has changed since")).to_be_visible()
    for _ in range(200):
        if workbench.text == before:
            break
        page.wait_for_timeout(50)
    assert workbench.text == before


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_sound_at_every_width_and_in_both_themes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = answered(open_page(workbench.at("fit"), sight))
    page.get_by_label("Pitch", exact=True).fill("15")
    expect(page.get_by_role("heading", level=2)).to_contain_text("15 deg bow up")
    if sight.touch:
        with_vents(page)
    assert_sound(page, sight)
