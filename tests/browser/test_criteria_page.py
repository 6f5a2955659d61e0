"""Is it enough: limits typed, the verdict by sign and word, a cure found, taken and undone, in a real browser."""

import re
import tomllib

import pytest
from playwright.sync_api import Page, expect

from dabchick.storage.folder import open_boat
from dabchick.studies import stability
from dabchick.studies.criteria import judge
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import SIGHTS, assert_sound

LONG = 180_000


def judged(page: Page) -> Page:
    page.get_by_role("button", name=re.compile("^Is it enough")).or_(
        page.get_by_role("heading", name="Your limits")
    ).first.click()
    expect(page.get_by_label("Least GM", exact=True)).to_be_visible(timeout=LONG)
    return page


def test_the_verdict_is_that_of_the_study_and_a_limit_turns_it(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = judged(open_page(workbench.at("stability")))
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    least = judge(vessel, stability.run(vessel)).of("gm_least")
    row = page.get_by_role("row", name=re.compile("GM at the least moment"))
    expect(row).to_contain_text("Pass")
    expect(row).to_contain_text(f"{least.value * 1e3:.1f}\u00a0mm")
    field = page.get_by_label("Least GM", exact=True)
    field.fill("9 mm")
    field.press("Enter")
    expect(row).to_contain_text("Fail", timeout=LONG)
    expect(page.get_by_role("heading", level=2)).to_contain_text("limit 9.0\u00a0mm")


def test_a_limit_that_is_none_is_explained_at_its_field(
    workbench: Workbench, open_page: OpenPage, pardoned: list[str]
) -> None:
    pardoned.append("422")  # a refused question is one line in the browser's console
    page = judged(open_page(workbench.at("stability")))
    field = page.get_by_label("Least greatest arm")
    field.fill("long")
    field.press("Enter")
    expect(field).to_have_attribute("aria-invalid", "true")


def test_a_cure_is_found_taken_by_the_keyboard_and_undone(workbench: Workbench, open_page: OpenPage) -> None:
    page = judged(open_page(workbench.at("stability")))
    before = workbench.text
    page.get_by_label("Least GM", exact=True).fill("4.5 mm")
    page.get_by_role("button", name="Find a cure").press("Enter")
    expect(page.get_by_role("progressbar").first).to_be_visible()
    take = page.get_by_role("button", name=re.compile("^Take cure 1")).first
    expect(take).to_be_enabled(timeout=LONG)
    expect(page.get_by_text("Best cure: ").first).to_be_visible()
    take.press("Enter")
    expect(page.get_by_text("The cure is written into the boat file").first).to_be_visible()
    assert any(part.get("from") == "trim" for part in tomllib.loads(workbench.text)["part"])
    row = page.get_by_role("row", name=re.compile("GM at the least moment"))
    expect(row).not_to_contain_text("Fail", timeout=LONG)
    page.keyboard.press("Control+z")
    for _ in range(400):
        if workbench.text == before:
            break
        page.wait_for_timeout(50)
    assert workbench.text == before


@pytest.mark.parametrize("sight", SIGHTS, ids=str)
def test_sound_at_every_width_and_in_both_themes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = judged(open_page(workbench.at("stability"), sight))
    expect(page.get_by_text("surface ships do not hold").first).to_be_attached()
    assert_sound(page, sight)
