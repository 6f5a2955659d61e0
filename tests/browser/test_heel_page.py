"""What heels her on the stability page in a real browser: typed causes, the study's figures, the picture, faults."""

import re

import pytest
from playwright.sync_api import Page, expect

from dabchick.report.heel_words import cause_row
from dabchick.storage.folder import open_boat
from dabchick.studies import heel
from dabchick.studies.heel_causes import Torque, Wind
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound


def answered(page: Page) -> Page:
    button = page.get_by_role("button", name=re.compile("^What heels her"))
    button.click()
    expect(page.get_by_role("heading", name="What she bears")).to_be_visible(timeout=90_000)
    return page


def typed(page: Page, **texts: str) -> None:
    for label, text in texts.items():
        field = page.get_by_label(label.replace("_", " "), exact=True)
        field.fill(text)
        field.press("Enter")


def test_typed_causes_show_what_the_study_says(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("stability")))
    expect(page.get_by_role("heading", level=2)).to_contain_text("10 g moved 10 mm")
    typed(page, Power_taken_in="9 W", Its_turns="2500", Steady_wind="3 m/s", Gust="5 m/s")
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    result = heel.run(vessel, torque=Torque(9.0, 2500.0 / 60.0), wind=Wind(3.0, 5.0))
    for entry in result.states[0].caused:
        words = cause_row(vessel, result, entry)
        row = page.get_by_role("row", name=re.compile(f"^{words.cause}"))
        expect(row).to_contain_text(words.rests)
        expect(row).to_contain_text(words.swings)
    picture = page.get_by_role("img", name=re.compile("^Righting moment over heel, Surfaced, with "))
    expect(picture).to_be_visible()
    page.get_by_role("radio", name="Propeller ahead").press("Space")
    expect(page.get_by_role("img", name=re.compile("with Propeller ahead"))).to_be_visible()
    # the left-handed one heels her the other way
    ahead = page.get_by_role("row", name=re.compile("^Propeller ahead"))
    expect(ahead).to_contain_text("port")
    page.get_by_role("radio", name="Left", exact=True).press("Space")
    expect(ahead).to_contain_text("stbd")
    page.get_by_role("radio", name="Dived").press("Space")
    expect(page.get_by_role("row", name=re.compile("^Wind"))).to_have_count(0)


def test_a_text_that_is_none_is_explained_at_its_field(
    workbench: Workbench, open_page: OpenPage, pardoned: list[str]
) -> None:
    # a refused question is one line in the browser's console
    pardoned.append("422")
    page = answered(open_page(workbench.at("stability")))
    typed(page, Weight_and_way_across="heavy")
    field = page.get_by_label("Weight and way across")
    expect(field).to_have_attribute("aria-invalid", "true")
    typed(page, Weight_and_way_across="20g@15mm")
    expect(page.get_by_role("row", name=re.compile("^20 g by 15 mm to port"))).to_be_visible()
    expect(field).not_to_have_attribute("aria-invalid", "true")


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_sound_at_every_width_and_in_both_themes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = answered(open_page(workbench.at("stability"), sight))
    typed(page, Power_taken_in="9 W", Its_turns="2500", Gust="5 m/s")
    expect(page.get_by_role("radio", name="Propeller ahead")).to_be_attached()
    if sight.touch:
        page.get_by_role("button", name="Also where she is least stable").click()
        expect(page.get_by_role("radio", name=re.compile("^Least stable"))).to_be_attached(timeout=120_000)
    assert_sound(page, sight)
