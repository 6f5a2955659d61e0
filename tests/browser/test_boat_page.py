"""The boat page in a real browser: sliders, picking, moving by pointer, touch and keys, undo, and what is read out."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import assert_sound

PHONE = Sight(390, 844, touch=True)


def drawn(page: Page) -> Page:
    """The page, once the boat has been drawn as an answer has her."""
    expect(page.get_by_role("application")).to_have_attribute("data-drawn", re.compile(r"\d"), timeout=60_000)
    return page


def saying(page: Page) -> Locator:
    return page.get_by_role("region", name="How she lies")


def part(page: Page, name: str) -> Locator:
    return page.get_by_role("region", name="Parts").get_by_role("button", name=re.compile(f"^{name}"))


def handle(page: Page, view: str) -> Locator:
    return page.get_by_role("button", name=re.compile(f"in the {view}"))


def settled(page: Page) -> None:
    """Once the picture has been drawn as it was last turned."""
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def place(workbench: Workbench, name: str) -> str:
    """Place of a part from the bow, as it stands in the file."""
    found = re.search(rf'name = "{name}".*?\nat = \["([^"]+)"', workbench.text, re.DOTALL)
    assert found
    return found[1]


def middle(handle: Locator) -> tuple[float, float]:
    box = handle.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_slider_moves_boat_water_and_figures(workbench: Workbench, open_page: OpenPage) -> None:
    page = drawn(open_page(workbench.at()))
    picture = page.get_by_role("application")
    empty = picture.get_attribute("aria-label")
    page.get_by_role("slider", name="main").fill("500")
    # The demo tank holds 244.5 ml in all: bore 64 mm, stroke 76 mm.
    expect(page.get_by_role("status").or_(page.locator("output"))).to_contain_text(["244.5 ml"])
    expect(saying(page)).to_contain_text("100 %")
    expect(picture).not_to_have_attribute("aria-label", empty or "")
    assert place(workbench, "battery") == "270 mm"


def test_part_moved_on_a_drawing_is_saved_and_taken_back(workbench: Workbench, open_page: OpenPage) -> None:
    page = drawn(open_page(workbench.at()))
    part(page, "speed controller").click()
    x, y = middle(handle(page, "side"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 20, y, steps=4)
    page.mouse.up()
    # Bow right: 20 pixels to the left is aft, away from the bow she is measured from.
    expect(page.get_by_label("x from bow")).not_to_have_value("560 mm")
    assert float(place(workbench, "speed controller").removesuffix(" mm")) > 570
    # The handle stays where it was let go: no jump back, and not moved twice.
    settled(page)
    assert middle(handle(page, "side"))[0] == pytest.approx(x - 20, abs=2)
    page.get_by_role("button", name=re.compile("^Take back: Move")).click()
    expect(page.get_by_label("x from bow")).to_have_value("560 mm")
    assert place(workbench, "speed controller") == "560 mm"


def test_part_moved_by_keys(workbench: Workbench, open_page: OpenPage) -> None:
    page = drawn(open_page(workbench.at()))
    part(page, "battery").press("Enter")
    picture = page.get_by_role("application")
    picture.focus()
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("11 mm aft")).to_be_visible()
    assert place(workbench, "battery") == "270 mm"
    page.keyboard.press("Escape")
    expect(page.get_by_text("11 mm aft")).to_be_hidden()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_label("x from bow")).to_have_value("269 mm")
    assert place(workbench, "battery") == "269 mm"


def test_mass_in_any_unit_is_asked_live_and_saved(workbench: Workbench, open_page: OpenPage) -> None:
    page = drawn(open_page(workbench.at()))
    part(page, "battery").click()
    before = saying(page).inner_text()
    mass = page.get_by_label("Mass", exact=True)
    mass.fill("20 oz")
    expect(saying(page)).not_to_have_text(before, use_inner_text=True)
    assert '"506 g"' in workbench.text
    mass.press("Enter")
    expect(part(page, "battery")).to_contain_text("567")
    # 20 oz as typed, not turned into grams; the comment behind it stays.
    assert re.search(r'value = "20 oz", known = "weighed" \} # eight cells', workbench.text)


def test_bad_mass_is_explained(workbench: Workbench, open_page: OpenPage) -> None:
    page = drawn(open_page(workbench.at()))
    part(page, "battery").click()
    page.get_by_label("Mass", exact=True).fill("heavy")
    expect(page.get_by_role("alert")).to_contain_text("heavy")
    page.get_by_label("Mass", exact=True).press("Escape")
    expect(page.get_by_role("alert")).to_be_hidden()


def test_part_dragged_by_touch_in_the_picture(workbench: Workbench, open_page: OpenPage) -> None:
    page = drawn(open_page(workbench.at(), PHONE))
    part(page, "speed controller").tap()
    page.get_by_role("button", name="Side", exact=True).tap()
    picture = page.get_by_role("application")
    picture.scroll_into_view_if_needed()
    tag = page.locator(".tag")
    expect(tag).to_have_text("speed controller")
    settled(page)
    box = tag.bounding_box()
    assert box
    # The name stands over the part; the part lies right below it.
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] + 16
    touch = page.context.new_cdp_session(page)
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 6):
        point = {"x": x - 5 * step, "y": y}
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(page.get_by_label("x from bow")).not_to_have_value("560 mm")
    assert float(place(workbench, "speed controller").removesuffix(" mm")) > 570


def test_click_in_the_picture_picks_a_part_but_turning_does_not(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = drawn(open_page(workbench.at()))
    page.get_by_role("button", name="Side", exact=True).click()
    part(page, "battery").click()
    settled(page)
    tag = page.locator(".tag").bounding_box()
    assert tag
    x, y = tag["x"] + tag["width"] / 2, tag["y"] + tag["height"] + 20
    page.get_by_role("button", name="Done").click()
    expect(page.locator(".tag")).to_be_hidden()
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y, steps=3)
    page.mouse.up()
    expect(page.locator(".tag")).to_be_hidden()
    page.get_by_role("button", name="Side", exact=True).click()
    page.mouse.click(x, y)
    expect(page.locator(".tag")).to_have_text("battery")


@pytest.mark.parametrize(
    "sight", [Sight(), Sight(1024, 768, "dark"), PHONE, Sight(390, 844, "dark", touch=True)]
)
def test_nothing_is_cut_off_and_axe_finds_nothing_serious(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = drawn(open_page(workbench.at(), sight))
    part(page, "battery").click()
    assert_sound(page, sight)
