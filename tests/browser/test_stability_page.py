"""All the way down in a real browser: followed by itself, one moment through plots, figures and picture, and played."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from dabchick.report.builder_units import with_unit
from dabchick.report.stability_words import sentence
from dabchick.storage.folder import open_boat
from dabchick.studies import stability
from dabchick.studies.stability_result import StabilityResult
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound
from tests.support.serving import put, state

SECOND = """[[tank]]
name = "stern"
system = "sealed pump"
shape = { box = { size = ["40 mm", "30 mm", "20 mm"] } }
at = ["740 mm", 0, "60 mm"]

"""


def followed(page: Page) -> Page:
    expect(page.get_by_role("heading", name="Righting arms", exact=True)).to_be_visible(timeout=120_000)
    return page


def slider(page: Page) -> Locator:
    return page.get_by_label("Place on the way")


def shows(page: Page, at: float) -> None:
    """Both plots stand at this place."""
    expect(page.locator(f'.cursor[data-at="{at:g}"]')).to_have_count(1)
    expect(page.locator(f'.strong[data-at="{at:g}"]')).to_have_count(1)


def study(workbench: Workbench) -> StabilityResult:
    return stability.run(open_boat(workbench.shelf / workbench.boat).vessel)


def stability_sentence(workbench: Workbench) -> str:
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    return sentence(vessel, stability.run(vessel)).partition(". ")[0] + "."


def test_she_is_followed_by_herself_and_one_moment_moves_through_all(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = followed(open_page(workbench.at("stability")))
    result = study(workbench)
    figures = page.get_by_label("Figures of the moment")
    expect(figures.get_by_role("heading", name=re.compile("least stable$"))).to_be_visible()
    least = with_unit(result.least.lie.gm_transverse_m.value, "length", "metric")
    expect(figures.get_by_role("definition").filter(has_text=least).first).to_be_visible()
    slider(page).focus()
    for key, at, stage in (
        ("Home", 0, result.down[0]),
        ("ArrowRight", 0.05, result.down[1]),
        ("PageUp", 0.3, result.down[6]),
        ("End", 2, result.up[-1]),
    ):
        page.keyboard.press(key)
        shows(page, at)
        draught = with_unit(stage.lie.draught_bow_m.value, "length", "metric")
        expect(figures.get_by_role("definition").filter(has_text=draught).first).to_be_visible()
    expect(figures.get_by_role("heading", level=3)).to_have_text("0 % in, coming up")


def test_both_plots_are_worked_by_keys_and_by_pointing(workbench: Workbench, open_page: OpenPage) -> None:
    page = followed(open_page(workbench.at("stability")))
    fill = page.get_by_role("slider", name=re.compile("over the water taken"))
    arms = page.get_by_role("slider", name=re.compile("righting arms over heel"))
    fill.focus()
    page.keyboard.press("Home")
    arms.focus()
    page.keyboard.press("ArrowRight")
    shows(page, 0.05)
    expect(fill).to_have_attribute("aria-valuetext", "5 % in, going down")
    # the plot begins 40 px from its left and ends 48 px before its right
    box = fill.bounding_box()
    assert box is not None
    fill.click(position={"x": 40 + 0.7 * (box["width"] - 88), "y": box["height"] / 2})
    shows(page, 0.7)
    expect(page.get_by_label("The dive").locator("output")).to_have_text("70 % in, going down")
    scene = page.get_by_label("The dive").get_by_role("application")
    expect(scene).to_have_attribute("aria-label", re.compile("^70 % in, going down: heel"))
    page.get_by_role("button", name="Least stable", exact=True).click()
    expect(page.get_by_label("Figures of the moment").get_by_role("heading", level=3)).to_contain_text(
        "least"
    )


def test_with_motion_turned_down_play_steps_from_stage_to_stage(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = followed(open_page(workbench.at("stability")))
    output = page.get_by_label("The dive").locator("output")
    before = output.inner_text()
    page.wait_for_timeout(1200)
    assert output.inner_text() == before  # nothing moves by itself
    slider(page).focus()
    page.keyboard.press("Home")
    page.get_by_role("button", name="Play").click()
    expect(output).to_have_text(re.compile(r"^[1-9]\d? % in, going down$"))
    page.get_by_role("button", name="Pause").click()
    stood = output.inner_text()
    assert re.fullmatch(r"\d*[05] % in, going down", stood)
    page.wait_for_timeout(1200)
    assert output.inner_text() == stood


def test_the_sheet_is_saved_from_the_menu(workbench: Workbench, open_page: OpenPage) -> None:
    page = followed(open_page(workbench.at("stability")))
    page.get_by_role("button", name="Save", exact=True).click()
    with page.expect_download(timeout=60_000) as waiting:
        page.get_by_role("menuitem", name="Stability sheet, PDF").click()
    assert waiting.value.suggested_filename == f"{workbench.boat}-stability-sheet.pdf"
    assert waiting.value.path().read_bytes().startswith(b"%PDF-")


def test_what_is_moved_makes_it_stale_and_one_click_mends_that(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = followed(open_page(workbench.at("stability")))
    told = page.get_by_role("heading", level=2).inner_text()
    assert told.replace("\u00a0", " ") == stability_sentence(workbench).replace("\u00a0", " ")
    begun: list[str] = []
    page.on("request", lambda request: begun.append(request.method) if "/stability" in request.url else None)
    page.goto(workbench.at("weights"))
    page.goto(workbench.at("stability"))
    followed(page)
    assert "POST" not in begun  # kept, since she is as she was
    with workbench.server.client() as client:
        now = state(client, workbench.boat)["revision"]
        answer = put(client, now, ["part", 3, "at", 2], "50 mm", boat=workbench.boat)
        assert answer.status_code == 200, answer.text
    old = page.get_by_text("The boat has changed since she was followed down")
    expect(old).to_be_visible()
    page.get_by_role("button", name="Follow her again").click()
    expect(old).to_have_count(0)
    expect(page.get_by_role("heading", level=2)).not_to_have_text(told)


def test_two_tanks_fill_in_an_order_or_at_rates(
    workbench: Workbench, open_page: OpenPage, pardoned: list[str]
) -> None:
    # a refused question is one line in the browser's console
    pardoned.append("422")
    workbench.file.write_text(workbench.text.replace("[[tank]]\n", SECOND + "[[tank]]\n", 1), "utf-8")
    page = followed(open_page(workbench.at("stability")))
    page.get_by_role("radio", name="One after the other").check(force=True)
    order = page.get_by_role("list", name="Order of the tanks").get_by_role("listitem")
    expect(order).to_have_text([re.compile(r"1\. stern"), re.compile(r"2\. main")])
    page.get_by_role("button", name="main earlier").click()
    expect(page.get_by_text("Other settings stand above")).to_be_visible()
    page.get_by_role("button", name="Follow her again").click()
    expect(
        page.get_by_role("heading", name=re.compile("one tank after the other: main, then stern$"))
    ).to_be_visible()
    page.get_by_role("radio", name="At rates").check(force=True)
    rate = page.get_by_label("main", exact=True)
    rate.fill("20 ml")
    rate.press("Enter")
    page.get_by_role("button", name=re.compile("^Follow her")).click()
    expect(rate).to_have_attribute("aria-invalid", "true")
    rate.fill("20 ml/s")
    rate.press("Enter")
    page.get_by_role("button", name=re.compile("^Follow her")).click()
    expect(
        page.get_by_role("heading", name="On the way, each tank at its rate: main 20 ml/s")
    ).to_be_visible()


def test_a_boat_without_a_tank_is_shown_the_way_to_one(workbench: Workbench, open_page: OpenPage) -> None:
    text = workbench.text
    start = text.index("[[tank]]")
    workbench.file.write_text(text[:start] + text[text.index("# ---", start) :], "utf-8")
    page = open_page(workbench.at("stability"))
    page.get_by_role("link", name="Look for a tank that suits her").click()
    expect(page).to_have_url(re.compile("/tank$"))


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
def test_sound_at_every_width_and_in_both_themes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = followed(open_page(workbench.at("stability"), sight))
    if sight.touch:
        fill = page.get_by_role("slider", name=re.compile("over the water taken"))
        fill.scroll_into_view_if_needed()
        box = fill.bounding_box()
        assert box is not None
        fill.tap(position={"x": 40 + 0.5 * (box["width"] - 88), "y": box["height"] / 2})
        expect(page.locator('.cursor[data-at="0.5"]')).to_have_count(1)
        small = page.evaluate(
            "[...document.querySelectorAll('.stability button, .stability select, .stability input')]"
            ".filter((e) => e.getBoundingClientRect().height < 36 && e.type !== 'checkbox' && e.type !== 'radio')"
            ".map((e) => e.textContent)"
        )
        assert small == []
    assert_sound(page, sight)
