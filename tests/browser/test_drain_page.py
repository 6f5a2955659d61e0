"""Water that lags on the stability page in a real browser: followed, a limit set, openings written and taken back."""

import re
import tomllib

import pytest
from playwright.sync_api import Page, expect

from dabchick.storage.folder import open_boat
from dabchick.studies import drain
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound

LONG = 120_000


def followed(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = open_page(workbench.at("stability"), sight)
    question = page.get_by_role("button", name=re.compile("^Water that lags"))
    question.click()
    expect(page.get_by_role("heading", name="How long it takes")).to_be_visible(timeout=LONG)
    return page


def areas(workbench: Workbench) -> list[str]:
    return [row["area"] for row in tomllib.loads(workbench.text)["hull"]["openings"]]


def test_the_answer_is_that_of_the_study(workbench: Workbench, open_page: OpenPage) -> None:
    page = followed(workbench, open_page)
    result = drain.run(open_boat(workbench.shelf / workbench.boat).vessel, help_wanted=False)
    answer = page.get_by_role("region", name="The answer")
    expect(answer).to_contain_text(f"{result.up.least_gm_m * 1e3:.1f}\xa0mm")
    times = page.get_by_role("region", name="How long it takes")
    expect(times).to_contain_text(f"{result.up.times[0].to_95_s:.1f}\xa0s")
    page.get_by_text("Coming up, moment by moment").click()
    expect(page.get_by_role("columnheader", name="GM drained").first).to_be_visible()


def test_a_limit_brings_openings_that_are_written_and_taken_back(
    workbench: Workbench, open_page: OpenPage, pardoned: list[str]
) -> None:
    # a refused question is one line in the browser's console
    pardoned.append("422")
    page = followed(workbench, open_page)
    before, now = workbench.text, areas(workbench)
    blow = page.get_by_label("Blown in")
    blow.fill("soon")
    page.get_by_label("GM to keep").fill("3.9 mm")
    page.get_by_role("button", name="Follow her").click()
    expect(blow).to_have_attribute("aria-invalid", "true")
    blow.fill("10 s")
    blow.press("Enter")
    expect(page.get_by_role("heading", name="What keeps your limit")).to_be_visible(timeout=LONG)
    page.get_by_role("button", name="Write these openings: All openings").click()
    expect(page.get_by_text("written into the boat file").first).to_be_visible()
    assert all(
        float(one.split()[0]) > float(two.split()[0]) for one, two in zip(areas(workbench), now, strict=True)
    )
    expect(page.get_by_text("The boat has changed since")).to_be_visible()
    page.keyboard.press("Control+z")
    for _ in range(200):
        if workbench.text == before:
            break
        page.wait_for_timeout(50)
    assert workbench.text == before


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_sound_at_every_width_and_in_both_themes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = followed(workbench, open_page, sight)
    page.get_by_text("Coming up, moment by moment").click()
    assert_sound(page, sight)
