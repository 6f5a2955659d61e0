"""Hand measures and the scale table in a real browser: typed, marked, used, taken back; by thumb too."""

import tomllib

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import SIGHTS, assert_sound, saved
from tests.support.measured import series58, taken

COLUMNS = ("place", "beam", "height", "lowest point", "girth")
PASTE = """(cell, text) => {
  const data = new DataTransfer();
  data.setData("text/plain", text);
  cell.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
}"""
SLOW_MS = 90_000
"""The fit takes a second where nothing else runs."""


def cells(**slips: dict[int, float]) -> list[list[str]]:
    """Measures of an invented hull of 900 mm in mm, as they would be typed."""
    found = []
    for one in taken(series58, 5, **slips).stations:
        values = (one.x_m, one.beam_m, one.height_m, one.keel_m, one.girth_m)
        found.append(["" if value is None else f"{900.0 * value:.1f}" for value in values])
    return found


def paste(page: Page, rows: list[list[str]]) -> None:
    page.get_by_label("Station 1, place", exact=True).evaluate(
        PASTE, "\n".join("\t".join(row) for row in rows)
    )


def opened(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = open_page(workbench.at("measures"), sight)
    expect(page.get_by_label("Station 11, place", exact=True)).to_have_value("900", timeout=SLOW_MS)
    return page


def use(page: Page) -> None:
    expect(page.get_by_role("button", name="Use as hull")).to_be_enabled(timeout=SLOW_MS)
    page.get_by_role("button", name="Use as hull").click()


def test_typed_measures_become_the_hull_and_undo_gives_the_old_one_back(
    workbench: Workbench, open_page: OpenPage
) -> None:
    before = workbench.text
    page = open_page(workbench.at("hull"))
    page.get_by_role("link", name="Hand measures").click()
    expect(page.get_by_label("Station 11, place", exact=True)).to_have_value("900", timeout=SLOW_MS)
    expect(page.get_by_role("button", name="Use as hull")).to_be_disabled()
    for row, values in enumerate(cells(height={4: -0.007}), start=1):
        for column, value in zip(COLUMNS, values, strict=True):
            page.get_by_label(f"Station {row}, {column}", exact=True).fill(value)
    # The slip is told by sign, by word, at its cell and in the drawing, with what would be in line.
    cell = page.get_by_label("Station 5, height, out of line", exact=True)
    expect(cell).to_be_visible(timeout=SLOW_MS)
    row = page.get_by_role("listitem", name="Station 5", exact=True)
    expect(row).to_contain_text("!")
    expect(row).to_contain_text("would be in line")
    picture = page.get_by_role(
        "img", name="Side, sections and top of the hull that the measures make, 1 of them"
    )
    expect(picture).to_contain_text("height")
    cell.fill(cells()[4][2])
    expect(page.get_by_text("No measure is out of line")).to_be_visible(timeout=SLOW_MS)
    figures = page.get_by_role("region", name="Figures")
    expect(figures).to_contain_text("900.0 mm")
    expect(figures).to_contain_text("±")
    use(page)
    saved(page, workbench, "-measures.csv")
    hull = tomllib.loads(workbench.text)["hull"]
    assert "stations" not in hull
    assert (workbench.file.parent / hull["measures"]).read_text("utf-8").count("\n") > 11
    page.get_by_role("button", name=f"Take back: Take {hull['measures']} as the hull").click(timeout=SLOW_MS)
    saved(page, workbench, 'stations = "wren-stations.csv"')
    assert workbench.text == before


def test_what_cannot_be_stands_at_its_cell_and_any_unit_is_taken(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = opened(workbench, open_page)
    paste(page, cells())
    girth = page.get_by_label("Station 6, girth", exact=True)
    girth.fill("200")
    expect(girth).to_have_attribute("aria-invalid", "true", timeout=SLOW_MS)
    row = page.get_by_role("listitem", name="Station 6", exact=True)
    expect(row).to_contain_text("(diamond) to")
    expect(page.get_by_role("button", name="Use as hull")).to_be_disabled()
    # 403.9 mm in inches: 15 9/10.
    girth.fill("15 9/10 in")
    expect(girth).to_have_attribute("aria-invalid", "false", timeout=SLOW_MS)
    expect(page.get_by_role("button", name="Use as hull")).to_be_enabled(timeout=SLOW_MS)
    # A look elsewhere costs nothing that was typed.
    page.get_by_role("link", name="Back to the hull").click()
    page.get_by_role("link", name="Hand measures").click()
    expect(page.get_by_label("Station 6, girth", exact=True)).to_have_value("15 9/10 in")


def test_keys_run_down_a_column_and_rows_come_and_go(workbench: Workbench, open_page: OpenPage) -> None:
    page = opened(workbench, open_page)
    page.get_by_label("Station 2, beam", exact=True).focus()
    page.keyboard.type("40")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Station 3, beam", exact=True)).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(page.get_by_label("Station 2, beam", exact=True)).to_be_focused()
    page.get_by_role("button", name="Add a station").click()
    expect(page.get_by_label("Station 12, place", exact=True)).to_be_visible()
    page.get_by_role("button", name="Remove station 1", exact=True).click()
    expect(page.get_by_label("Station 1, beam", exact=True)).to_have_value("40")


@pytest.mark.parametrize("sight", SIGHTS)
def test_measures_page_is_sound(workbench: Workbench, open_page: OpenPage, sight: Sight) -> None:
    page = opened(workbench, open_page, sight)
    wrong = cells(height={4: -0.007})
    paste(page, wrong)
    expect(page.get_by_text("1 measure out of line")).to_be_visible(timeout=SLOW_MS)
    page.get_by_text("Spreads and ends").click()
    page.get_by_text("The faired form, station by station").click()
    page.get_by_label("Spread of the tape").fill("1 g")
    expect(page.get_by_text("is a mass")).to_be_visible(timeout=SLOW_MS)
    assert_sound(page, sight)


@pytest.mark.parametrize("sight", SIGHTS)
def test_scale_page_is_sound(workbench: Workbench, open_page: OpenPage, sight: Sight) -> None:
    page = open_page(f"{workbench.address}/#/scale", sight)
    expect(page.get_by_role("heading", name="Scale by scale")).to_be_visible()
    assert_sound(page, sight)


@pytest.mark.parametrize("sight", [Sight(), Sight(390, 844, touch=True)])
def test_a_scale_begins_a_new_boat_in_its_sizes(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = open_page(f"{workbench.address}/#/new", sight)
    page.get_by_role("link", name="Which scale?").click()
    expect(page.get_by_role("heading", name="Scale by scale")).to_be_visible()
    page.get_by_label("Length", exact=True).fill("60")
    expect(page.get_by_text("has no unit")).to_be_visible()
    page.get_by_label("Length", exact=True).fill("60 m")
    page.get_by_label("Hull, keel to deck").fill("5.4 m")
    # By hand: 60 m / 60, and 5.4 m / 60 = 90 mm.
    begin = page.get_by_role("button", name="Begin a boat in 1:60").locator("visible=true")
    figures = page.get_by_text("1000.0 mm").locator("visible=true")
    expect(figures).to_be_visible()
    begin.click()
    expect(page.get_by_label("Length", exact=True)).to_have_value("1000 mm")
    expect(page.get_by_label("Height of the hull")).to_have_value("90 mm")
    # 4.3 m / 60.
    expect(page.get_by_label("Waterline over the keel")).to_have_value("71.667 mm")
