"""The tank page in a real browser: the answer, a bore in any unit, a proposal written and taken back."""

import math
import re

import pytest
from playwright.sync_api import Browser, Page, expect

from dabchick.storage.folder import open_boat
from dabchick.studies import tank
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import SIGHTS, assert_sound

PHONE = Sight(390, 844, touch=True)


def answered(page: Page) -> Page:
    expect(page.get_by_role("heading", name="Needed and present")).to_be_visible(timeout=60_000)
    return page


def figures(page: Page, label: str) -> list[str]:
    """Needed and present, without their spreads."""
    row = page.get_by_role("row", name=re.compile(f"^{label}"))
    return [text.replace("\xa0", " ") for text in row.locator(".figure").all_inner_texts()]


def needed_ml(workbench: Workbench) -> float:
    """What the study says when asked from Python: the page must show the same."""
    return 1e6 * tank.run(open_boat(workbench.shelf / workbench.boat).vessel).volume_m3.value


def test_answer_is_that_of_the_study(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("tank")))
    # The bore is 64 mm and the stroke 76 mm: pi/4 * 64^2 * 76 = 244.5 ml.
    assert figures(page, "Volume") == [f"{needed_ml(workbench):.1f} ml", "244.5 ml"]
    expect(page.get_by_role("heading", level=1)).to_contain_text("Wren needs")
    expect(page.get_by_role("img", name=re.compile("The boat from starboard"))).to_be_visible()


def test_bore_in_any_unit(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("tank")))
    bore = page.get_by_label("Bore to find the length for")
    bore.fill("2 1/2 in")
    bore.press("Enter")
    length_mm = 1e3 * needed_ml(workbench) / (math.pi / 4.0 * 63.5**2)
    expect(page.get_by_role("row", name=re.compile("^Length of water"))).to_contain_text(
        f"{length_mm:.1f} mm"
    )
    assert "63.5" not in workbench.text


def test_bore_that_is_none_is_explained(workbench: Workbench, browser: Browser) -> None:
    # A refused question is one line in the browser's console, so this page is not watched.
    page = browser.new_page()
    page.goto(workbench.at("tank"))
    answered(page)
    bore = page.get_by_label("Bore to find the length for")
    bore.fill("wide")
    bore.press("Enter")
    expect(page.get_by_text("wide").first).to_be_visible()
    expect(bore).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("heading", name="Needed and present")).to_be_visible()
    page.context.close()


def test_proposal_is_written_and_taken_back(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("tank")))
    before = workbench.text
    page.get_by_role("button", name="Apply").first.click()
    row = page.get_by_role("row", name=re.compile("^Volume"))
    expect(row.locator(".figure").nth(1)).not_to_have_text("244.5 ml")
    assert workbench.text != before
    needed, present = (float(text.removesuffix(" ml")) for text in figures(page, "Volume"))
    # The tank is now what is needed; what it displaces has hardly changed, so the need stays within a ml.
    assert present == pytest.approx(needed, abs=1.0)
    page.keyboard.press("Control+z")
    expect(row.locator(".figure").nth(1)).to_have_text("244.5 ml")
    assert workbench.text == before


def test_gas_is_cautioned_and_a_piston_is_not(workbench: Workbench, open_page: OpenPage) -> None:
    page = answered(open_page(workbench.at("tank")))
    caution = page.get_by_text("Gas under pressure.")
    expect(caution).to_be_hidden()
    file = workbench.shelf / workbench.boat / "boat.toml"
    file.write_text(
        workbench.text.replace('system = "piston"', 'system = "gas blown"').replace('water_end = "bow"', ""),
        "utf-8",
    )
    expect(caution).to_be_visible()


def test_nothing_is_cut_off_and_axe_finds_nothing_serious(workbench: Workbench, open_page: OpenPage) -> None:
    for sight in SIGHTS:
        page = answered(open_page(workbench.at("tank"), sight))
        expect(page.get_by_role("img", name=re.compile("The boat from starboard"))).to_be_visible()
        assert_sound(page, sight)
        page.context.close()
