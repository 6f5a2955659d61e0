"""Air and depth on the stability page in a real browser: fill, depth and blow, by mouse and keys, wide and narrow."""

import re
import tomllib

import pytest
from playwright.sync_api import Page, expect

from dabchick.storage.folder import open_boat
from dabchick.studies import squeeze
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound
from tests.support.gas_boat import write_gas_boat


@pytest.fixture
def coot(workbench: Workbench) -> Workbench:
    """The invented boat with a gas blown tank instead of the usual one."""
    name = f"{workbench.boat}-coot"
    write_gas_boat(workbench.shelf / name)
    return Workbench(workbench.server, name)


def answered(page: Page) -> Page:
    section = page.get_by_role("button", name=re.compile("^Air and depth"))
    section.click()
    expect(page.get_by_role("heading", name="On the way down")).to_be_visible(timeout=90_000)
    return page


def sentence(page: Page) -> str:
    return page.get_by_role("heading", level=2).inner_text()


def enter(page: Page, label: str, text: str) -> None:
    field = page.get_by_label(label)
    field.fill(text)
    field.press("Enter")


def test_fill_depth_and_blow_show_what_the_study_says(coot: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(coot.at("stability")))
    vessel = open_boat(coot.shelf / coot.boat).vessel
    usual = squeeze.run(vessel)
    expect(page.get_by_role("heading", level=2)).to_contain_text(f"below {usual.back_depth_m:.1f}")
    enter(page, "Down to", "5 m")
    expect(page.get_by_text("Wrong", exact=True)).to_be_visible()
    picture = page.get_by_label("Lift over depth", exact=True)
    expect(picture.get_by_text(f"neutral at {usual.back_depth_m:.1f}")).to_be_visible()
    expect(page.get_by_text("does not come back").first).to_be_visible()
    enter(page, "Air blown there", "20 ml")
    expect(page.get_by_text("Good", exact=True)).to_be_visible()
    expect(page.get_by_text("Gas under pressure can hurt")).to_be_visible()


def test_the_fill_goes_by_keys_and_back_to_the_dived_lift(coot: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(coot.at("stability")))
    before = sentence(page)
    slider = page.get_by_role("slider", name=re.compile("^main"))
    slider.focus()
    for _ in range(4):
        page.keyboard.press("ArrowLeft")
    expect(page.get_by_role("heading", level=2)).not_to_have_text(before)
    share = float(slider.input_value())
    found = squeeze.run(open_boat(coot.shelf / coot.boat).vessel, fills=[{"main": share}])
    expect(page.get_by_role("heading", level=2)).to_contain_text(f"below {found.back_depth_m:.1f}")
    page.get_by_role("button", name="Fill her to the dived lift").press("Enter")
    expect(page.get_by_role("heading", level=2)).to_have_text(before)


def test_an_answer_does_not_ask_again(coot: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(coot.at("stability")))
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    # several times as long as a moved slider waits before it asks
    page.wait_for_timeout(1500)
    assert [url for url in asked if url.endswith("/squeeze")] == []


def test_a_boat_whose_tank_holds_its_water_and_the_air_trapped_in_her(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = answered(open_page(workbench.at("stability")))
    expect(page.get_by_role("heading", level=2)).to_contain_text("nothing that depth squeezes")
    expect(page.get_by_label("Air blown there")).to_have_count(0)
    page.get_by_label("Count the air trapped in her too").check()
    expect(page.get_by_role("heading", level=2)).to_contain_text("of lift per metre", timeout=90_000)
    assert tomllib.loads(workbench.text)["name"] == "Wren"


def test_a_depth_that_is_none_is_explained(coot: Workbench, open_page: OpenPage, pardoned: list[str]) -> None:
    # a refused question is one line in the browser's console
    pardoned.append("422")
    page = answered(open_page(coot.at("stability")))
    enter(page, "Down to", "deep")
    expect(page.get_by_label("Down to")).to_have_attribute("aria-invalid", "true")
    enter(page, "Down to", "2 m")
    expect(page.get_by_label("Down to")).to_have_attribute("aria-invalid", "false")


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_sound_at_every_width_and_in_both_themes(coot: Workbench, open_page: OpenPage, sight: Sight) -> None:
    page = answered(open_page(coot.at("stability"), sight))
    enter(page, "Down to", "5 m")
    expect(page.get_by_text("does not come back").first).to_be_visible()
    assert_sound(page, sight)
