"""The fit page in a real browser: pairs that are shown when chosen, a way in that is stopped, a cylinder that fits."""

import re

import pytest
from playwright.sync_api import Page, expect

from dabchick.report.fit_words import cylinder_summary, fit_summary, slide_summary
from dabchick.storage.folder import open_boat
from dabchick.studies import fit, fit_cylinder, fit_slide
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound

LONG_MS = 60_000
SMALL = Sight(360, 740, touch=True)


def answered(page: Page) -> Page:
    expect(page.get_by_role("list", name="Pairs")).to_be_visible(timeout=LONG_MS)
    return page


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("\xa0", " "))


def test_pairs_are_those_of_the_study_and_are_shown(workbench: Workbench, open_page: OpenPage) -> None:
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    result = fit.run(vessel)
    page = answered(open_page(workbench.at("fit")))
    expect(page.locator(".sentence")).to_contain_text(plain(fit_summary(vessel, result)))
    rows = page.get_by_role("list", name="Pairs").get_by_role("button")
    expect(rows).to_have_count(len(result.pairs))
    row = rows.filter(has_text="cylinder and keel bar")
    # Worked by hand from her file: the cylinder's underside is 48 - 40 = 8 mm up, the bar's top 7.5 mm.
    expect(row).to_contain_text("0.5 mm")
    row.click()
    expect(row).to_have_attribute("aria-pressed", "true")
    side = page.get_by_role("img", name=re.compile("From starboard.*cylinder and keel bar, too near, 0.5 mm"))
    expect(side.first).to_be_visible()
    # The two parts are drawn apart from the others, and a ring lies where they come nearest.
    expect(side.first.locator("path.first")).to_have_count(1)
    expect(side.first.locator("path.second")).to_have_count(1)
    expect(side.first.locator("circle.ring")).to_have_count(1)
    row.click()
    expect(row).to_have_attribute("aria-pressed", "false")
    expect(side).to_have_count(0)


def test_more_clearance_finds_more(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("fit")))
    rows = page.get_by_role("list", name="Pairs").get_by_role("button")
    before = rows.count()
    field = page.get_by_label("Clearance wished")
    field.fill("5 mm")
    field.press("Enter")
    expect(page.locator(".sentence")).to_contain_text("5.0 mm", timeout=LONG_MS)
    wanted = fit.run(open_boat(workbench.shelf / workbench.boat).vessel, clearance_m=0.005)
    assert len(wanted.pairs) > before
    expect(rows).to_have_count(len(wanted.pairs))


def test_planes_that_turn_meet_what_lies_between(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("fit")))
    page.get_by_text("Parts that turn").click()
    page.get_by_label("Part", exact=True).select_option("aft planes")
    page.get_by_role("button", name="Let it turn").click()
    # The shaft runs 2.5 mm under them.
    row = page.get_by_role("button", name=re.compile("aft planes and shaft and tube"))
    expect(row).to_contain_text("in one place", timeout=LONG_MS)


def test_the_way_in_is_stopped_and_then_free(workbench: Workbench, open_page: OpenPage) -> None:
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    page = answered(open_page(workbench.at("fit")))
    page.get_by_label("Way in").check()
    page.get_by_role("button", name="Try its way in").click()
    stopped = fit_slide.run(vessel, "cylinder")
    expect(page.locator(".sentence")).to_contain_text(plain(slide_summary(vessel, stopped)), timeout=LONG_MS)
    hull = page.get_by_role("list", name="What hinders it").get_by_role("button").first
    expect(hull).to_contain_text("in the way")
    hull.click()
    share = 100.0 * (1.0 - stopped.hindrances[0].to_go_m / stopped.way_m)
    expect(page.get_by_text("How far in")).to_contain_text(f"{round(share)} %")
    field = page.get_by_label("Hull opened at z from the keel")
    field.fill("48 mm")
    field.press("Enter")
    page.get_by_role("button", name="Try its way in").click()
    expect(page.locator(".sentence")).to_contain_text("Goes in", timeout=LONG_MS)


def test_the_largest_cylinder_is_that_of_the_study(workbench: Workbench, open_page: OpenPage) -> None:
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    page = answered(open_page(workbench.at("fit")))
    page.get_by_label("Largest cylinder").check()
    page.get_by_label("Diameter over all").fill("80 mm")
    page.get_by_role("button", name="Find the longest").click()
    wanted = cylinder_summary(vessel, fit_cylinder.run(vessel, diameter_m=0.08))
    expect(page.locator(".sentence")).to_contain_text(plain(wanted), timeout=LONG_MS)


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_page_is_sound(workbench: Workbench, open_page: OpenPage, sight: Sight) -> None:
    page = answered(open_page(workbench.at("fit"), sight))
    page.get_by_role("list", name="Pairs").get_by_role("button").nth(4).click()
    assert_sound(page, sight)
    page.get_by_label("Way in").check()
    page.get_by_role("button", name="Try its way in").click()
    expect(page.get_by_role("list", name="What hinders it")).to_be_visible(timeout=LONG_MS)
    assert_sound(page, sight)


def test_tabs_fit_a_small_phone_and_the_later_ones_stand_behind_more(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = answered(open_page(workbench.at("fit"), SMALL))
    bar = page.get_by_role("navigation", name="Pages of the boat")
    tabs = bar.get_by_role("link")
    expect(tabs).to_have_count(4)
    cut = tabs.evaluate_all(
        "(all) => all.filter((tab) => tab.firstElementChild.nextElementSibling.scrollWidth > tab.clientWidth)"
        ".map((tab) => tab.textContent)"
    )
    assert cut == []
    more = bar.get_by_role("button", name="More pages")
    more.click()
    expect(bar.get_by_role("link", name="Fit")).to_have_attribute("aria-current", "page")
    assert_sound(page, SMALL)
    page.keyboard.press("Escape")
    expect(more).to_be_focused()
    more.click()
    bar.get_by_role("link", name="Versions").click()
    expect(page.get_by_role("main", name="Versions")).to_be_visible()
    expect(tabs).to_have_count(4)
    assert_sound(page, SMALL)
