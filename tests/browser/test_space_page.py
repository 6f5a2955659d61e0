"""Free room and the break line on the page Fit in a real browser: found, taken over, kept free, dragged, saved."""

import re
import tomllib
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from dabchick.storage.folder import open_boat
from dabchick.studies import space, split
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import DESK_AND_PHONE, assert_sound, saved

LONG = 60_000
"""The first search compiles on a fresh machine."""


def content(workbench: Workbench) -> dict[str, Any]:
    return tomllib.loads(workbench.text)


def opened(workbench: Workbench, open_page: OpenPage, title: str, sight: Sight | None = None) -> Page:
    page = open_page(workbench.at("fit"), sight)
    page.get_by_role("button", name=re.compile(f"^{title}")).click()
    return page


def space_page(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = opened(workbench, open_page, "Where lead and foam can go", sight)
    expect(page.get_by_role("heading", name="Places to cut and to fix")).to_be_visible(timeout=LONG)
    return page


def split_page(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = opened(workbench, open_page, "Break line", sight)
    expect(page.get_by_role("region", name="The upper half")).to_be_visible(timeout=LONG)
    expect(page.get_by_role("button", name=re.compile("^Point 1:"))).to_be_visible(timeout=LONG)
    return page


def plain(text: str) -> str:
    return text.replace("\xa0", " ")


def test_free_room_is_that_of_the_study(workbench: Workbench, open_page: OpenPage) -> None:
    page = space_page(workbench, open_page)
    result = space.run(open_boat(workbench.shelf / workbench.boat).vessel)
    answer = page.get_by_role("region", name="The answer")
    expect(answer).to_contain_text(f"{1e6 * result.free_below_m3:.1f}\xa0ml")
    expect(answer).to_contain_text(f"{1e6 * result.floods_above_m3:.1f}\xa0ml")
    rails = page.get_by_role("list", name="Rails").get_by_role("listitem")
    expect(rails).to_have_count(len(result.rails))
    page.get_by_text("Volumes by station").click()
    rows = page.get_by_role("row")
    expect(rows).to_have_count(len(result.stations) + 1)
    first = result.stations[0]
    expect(rows.nth(1)).to_contain_text(f"{1e6 * first.free_below_m3:.1f}\xa0ml")
    page.get_by_label("Stay off everything by").fill("6 mm")
    page.get_by_role("button", name="Look again").click()
    less = space.run(open_boat(workbench.shelf / workbench.boat).vessel, clearance_m=0.006)
    expect(answer).to_contain_text(f"{1e6 * less.free_below_m3:.1f}\xa0ml", timeout=LONG)
    expect(answer).to_contain_text("6\xa0mm off everything")


def test_a_rail_is_taken_over_and_taken_back(workbench: Workbench, open_page: OpenPage) -> None:
    before = workbench.text
    page = space_page(workbench, open_page)
    button = page.get_by_role("list", name="Rails").get_by_role("button", name=re.compile("^Take over")).first
    name = (button.get_attribute("aria-label") or "").removeprefix("Take over ")
    page.get_by_role("button", name=name, exact=True).click()
    expect(page.get_by_role("button", name=name, exact=True)).to_have_attribute("aria-pressed", "true")
    button.click()
    saved(page, workbench, "[[place]]")
    (place,) = content(workbench)["place"]
    assert place["name"] == name
    assert set(place) == {"name", "for", "rail", "size"}
    expect(page.get_by_role("button", name=name, exact=True)).to_have_count(0, timeout=LONG)
    page.get_by_role("button", name=f"Take back: Take over {name}").click()
    for _ in range(100):
        if workbench.text == before:
            break
        page.wait_for_timeout(100)
    assert workbench.text == before


def test_what_must_stay_free_is_written(workbench: Workbench, open_page: OpenPage) -> None:
    page = space_page(workbench, open_page)
    page.get_by_label("Part", exact=True).select_option("linkages")
    page.get_by_label("Keeps free round it").fill("5 mm")
    page.get_by_role("button", name="It moves").click()
    saved(page, workbench, 'moves = "5 mm"')
    assert workbench.part("linkages")["moves"] == "5 mm"
    expect(page.get_by_role("region", name="The answer")).to_contain_text("Round linkages", timeout=LONG)
    box = page.get_by_role("form", name="A new keep-out")
    box.get_by_label("Name").fill("pushrod")
    for corner, texts in (
        ("One corner", ("660 mm", "-6 mm", "46 mm")),
        ("The other", ("860 mm", "6 mm", "62 mm")),
    ):
        for head, text in zip(("from bow", "to port", "from keel"), texts, strict=True):
            box.get_by_label(f"{corner}, {head}").fill(text)
    box.get_by_role("button", name="Add").click()
    saved(page, workbench, "[[keep_out]]")
    assert content(workbench)["keep_out"] == [
        {"name": "pushrod", "low": ["660 mm", "-6 mm", "46 mm"], "high": ["860 mm", "6 mm", "62 mm"]}
    ]
    page.get_by_role("button", name="Remove keep-out pushrod").click(timeout=LONG)
    for _ in range(100):
        if "keep_out" not in workbench.text:
            break
        page.wait_for_timeout(100)
    assert "keep_out" not in content(workbench)


def test_break_line_is_typed_dragged_saved_and_taken_back(workbench: Workbench, open_page: OpenPage) -> None:
    before = workbench.text
    page = split_page(workbench, open_page)
    expect(page.get_by_text("names no break line yet")).to_be_visible()
    page.get_by_label("A level line, from keel").fill("60 mm")
    page.get_by_role("button", name="Try it").click()
    upper = page.get_by_role("region", name="The upper half")
    vessel = open_boat(workbench.shelf / workbench.boat).vessel
    tried = split.run(vessel, line_m=((0.0, 0.06), (0.9, 0.06)))
    expect(upper).to_contain_text(f"{1e3 * tried.upper.mass_kg.value:.1f}\xa0g")
    assert workbench.text == before
    # A step in the middle, then its upper edge down two steps by key and its x by hand.
    page.get_by_role("button", name="Add a step").click()
    expect(page.get_by_label("Point 4, from keel")).to_be_visible()
    assert page.get_by_label("Point 2, from keel").input_value() == "70 mm"
    handle = page.get_by_role("button", name=re.compile("^Point 4: 0 mm from the bow, 70 mm"))
    handle.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(page.get_by_label("Point 1, from keel")).to_have_value("68 mm")
    place = page.get_by_role("button", name=re.compile("^Point 3:")).bounding_box()
    assert place is not None
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y - 8, steps=4)
    page.mouse.up()
    expect(page.get_by_label("Point 2, from bow")).not_to_have_value("450 mm")
    page.get_by_label("Point 2, from bow").fill("16 in")
    page.get_by_label("Point 2, from bow").press("Enter")
    expect(page.get_by_label("Point 2, from bow")).to_have_value("406.4 mm")
    page.get_by_role("button", name="Save the line").click()
    saved(page, workbench, "break_line")
    line = content(workbench)["hull"]["break_line"]
    assert line[0] == ["0 mm", "68 mm"]
    assert line[1][0] == "406.4 mm"
    assert line[-1] == ["900 mm", "60 mm"]
    expect(page.get_by_role("button", name="Take it away")).to_be_visible()
    result = split.run(open_boat(workbench.shelf / workbench.boat).vessel)
    assert result.from_file
    expect(upper).to_contain_text(f"{1e3 * result.upper.mass_kg.value:.1f}\xa0g")
    page.get_by_role("button", name="Take back: Break line of 4 points").click()
    expect(page.get_by_text("names no break line yet")).to_be_visible()
    assert workbench.text == before


def test_break_line_that_cannot_be_is_explained_where_it_is_typed(
    workbench: Workbench, open_page: OpenPage, pardoned: list[str]
) -> None:
    pardoned.append("status of 422")  # asked for on purpose
    page = split_page(workbench, open_page)
    point = page.get_by_label("Point 1, from keel")
    point.fill("160 mm")
    point.press("Enter")
    line = page.get_by_role("region", name="The line", exact=True)
    expect(line).to_contain_text("The break line lies above the hull.")
    expect(point).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("button", name="Save the line")).to_be_disabled()
    page.get_by_role("button", name="Leave it").click()
    expect(page.get_by_label("Point 1, from keel")).to_have_value("82 mm")
    expect(line).not_to_contain_text("lies above")


@pytest.mark.parametrize("sight", DESK_AND_PHONE, ids=str)
@pytest.mark.parametrize("section", ["space", "split"])
def test_sections_are_sound(workbench: Workbench, open_page: OpenPage, sight: Sight, section: str) -> None:
    if section == "space":
        page = space_page(workbench, open_page, sight)
        page.get_by_text("Volumes by station").click()
        page.get_by_role("button", name=re.compile("^Show all")).click()
    else:
        page = split_page(workbench, open_page, sight)
    assert_sound(page, sight)
