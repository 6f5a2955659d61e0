"""Two steps side by side on the page of versions in a real browser."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound


def changed(workbench: Workbench) -> None:
    """The battery 20 g heavier, by another program."""
    assert workbench.text.count('"506 g"') == 1
    workbench.file.write_text(workbench.text.replace('"506 g"', '"526 g"'), encoding="utf-8")


def beside(page: Page) -> Page:
    page.get_by_role("button", name=re.compile("As found")).first.click()
    page.get_by_role("button", name="Figures side by side").click()
    expect(page.get_by_role("columnheader", name="Difference")).to_be_visible(timeout=120_000)
    return page


def opened(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = open_page(workbench.at("versions"), sight)
    expect(page.get_by_text("As found").first).to_be_visible()
    changed(workbench)
    expect(page.get_by_text("Changed outside the workbench").first).to_be_visible(timeout=20_000)
    return page


def test_a_step_beside_now(workbench: Workbench, open_page: OpenPage) -> None:
    page = beside(opened(workbench, open_page))
    expect(page.get_by_role("row", name=re.compile("^Mass, tanks empty"))).to_contain_text("+20.0 g")
    expect(page.get_by_role("row", name=re.compile("^Lift dived"))).to_contain_text("−20.0 g")
    expect(page.get_by_role("row", name=re.compile("^Tanks "))).to_have_count(0)
    page.get_by_role("button", name=re.compile("that are the same")).click()
    expect(page.get_by_role("row", name=re.compile("^Tanks 244"))).to_contain_text("same")
    expect(page.get_by_role("img", name=re.compile("from the side, with the water"))).to_have_count(2)


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_sound_at_every_width_and_in_both_themes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    assert_sound(beside(opened(workbench, open_page, sight)), sight)
