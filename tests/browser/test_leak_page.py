"""A leak on the stability page in a real browser: figures, another leak, the water as it lies, by mouse and by key."""

import re

import pytest
from playwright.sync_api import Page, expect

from dabchick.storage.folder import open_boat
from dabchick.studies import leak
from dabchick.studies.leak_source import LeakWay
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound

LONG = 90_000


def answered(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = open_page(workbench.at("stability"), sight)
    chooser = page.get_by_role("button", name=re.compile("^A leak"))
    page.get_by_role("heading", name="Stability").wait_for()
    chooser.click()
    expect(page.get_by_role("heading", name="What she stands")).to_be_visible(timeout=LONG)
    return page


def test_the_figures_are_the_studys_and_a_hole_is_let_in(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(workbench, open_page)
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    answer = page.get_by_role("region", name="The answer")
    dry = leak.run(vessel)
    expect(answer).to_contain_text(f"{dry.chosen.reserve_m3 * 1e6:.1f}\xa0ml of water in the cylinder")
    expect(page.get_by_role("region", name="By tank fill").get_by_role("row")).to_have_count(4)
    page.get_by_role("radio", name="Hole").check(force=True)
    width = page.get_by_label("Width of the hole")
    width.fill("2 mm")
    page.get_by_label("Water over the leak").fill("3 m")
    page.get_by_label("Wall of the part").fill("2.5 mm")
    page.get_by_role("button", name="Let it in").click()
    holed = leak.run(vessel, leak=LeakWay("hole", diameter_m=2e-3), depth_m=3.0, wall_m=0.0025)
    expect(answer).to_contain_text("a hole 2\xa0mm wide, 3\xa0m down", timeout=LONG)
    expect(answer).to_contain_text(f"{holed.chosen.room_m3 * 1e6:.1f}\xa0ml")


def test_the_water_rises_by_the_keys(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(workbench, open_page)
    slider = page.get_by_label("Water inside", exact=True)
    before = slider.get_attribute("aria-valuetext")
    slider.press("End")
    expect(slider).not_to_have_attribute("aria-valuetext", before or "")
    expect(page.get_by_role("img", name=re.compile("^Side view: no longer coming up with"))).to_be_visible()
    page.get_by_role("radio", name="Dived").check(force=True)
    slider.press("Home")
    expect(page.get_by_role("img", name=re.compile("^Side view: dived with 0.0"))).to_be_visible()


def test_a_leak_that_is_none_is_explained(
    workbench: Workbench, open_page: OpenPage, pardoned: list[str]
) -> None:
    # a refused question is one line in the browser's console
    pardoned.append("422")
    page = answered(workbench, open_page)
    drip = page.get_by_label("Drops a minute")
    drip.fill("now and then")
    drip.press("Enter")
    expect(drip).to_have_attribute("aria-invalid", "true")
    drip.fill("10/min")
    drip.press("Enter")
    expect(page.get_by_role("region", name="The answer")).to_contain_text(
        "at 10 drops a minute", timeout=LONG
    )


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_sound_at_every_width_and_in_both_themes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    assert_sound(answered(workbench, open_page, sight), sight)
