"""The prints page in a real browser: halves joined, their walls as a map, used as the hull, and taken back."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import assert_sound, saved
from tests.support.broken import without, write_stl
from tests.support.prints import tube

LONG_MS = 120_000


def halves(folder: Path) -> list[Path]:
    """A tube of 900 mm with walls of 3 mm, in two pieces that meet."""
    return [
        write_stl(folder / "aft.stl", tube(0.0, 540.0)),
        write_stl(folder / "bow.stl", tube(540.0, 900.0)),
    ]


def brought(page: Page, files: list[Path]) -> None:
    page.locator("input[type=file]").set_input_files(files)
    expect(page.get_by_text("Closed", exact=True)).to_have_count(len(files), timeout=LONG_MS)


def join(page: Page) -> None:
    page.get_by_role("button", name=re.compile("^Join and measure")).click()
    expect(page.get_by_role("heading", name="One hull")).to_be_visible(timeout=LONG_MS)


def test_two_halves_are_joined_looked_at_used_and_taken_back(
    workbench: Workbench, open_page: OpenPage, tmp_path: Path
) -> None:
    before = workbench.text
    page = open_page(workbench.at("hull"))
    page.get_by_role("link", name="Join prints").click()
    expect(page).to_have_url(workbench.at("prints"))
    expect(page.get_by_role("button", name="Join and measure")).to_be_disabled()
    brought(page, halves(tmp_path))
    page.get_by_label("Material").select_option("PLA filament")
    page.get_by_label("All pieces weigh").fill("298 g")
    join(page)
    answer = page.get_by_role("region", name="One hull")
    expect(answer).to_contain_text("2 pieces make one closed mesh of 900.0")
    expect(answer).to_contain_text("aft.stl and bow.stl touch")
    use = page.get_by_role("button", name="Use as her hull")
    expect(use).to_be_disabled()
    assert workbench.text == before

    walls = page.get_by_role("region", name="Walls")
    # The walls are 3 mm, all in one band with round ends, the second of the legend.
    band = walls.get_by_role("button", name=re.compile("2.50 to 3.50"))
    expect(band).to_contain_text("100.0")
    band.click()
    expect(walls.get_by_role("application").get_by_text(re.compile("^2: 2.50 to 3.50"))).to_be_visible()
    thin = walls.get_by_role("list").nth(1).get_by_role("button")
    expect(thin).to_have_count(5)
    thin.first.click()
    expect(walls.get_by_role("application").get_by_text(re.compile("^Thin 1: 3.00"))).to_be_visible()

    page.get_by_role("radio", name="The material itself").click()
    expect(use).to_be_enabled(timeout=LONG_MS)
    expect(answer).to_contain_text("You say that it is the material itself.")
    expect(page.get_by_role("region", name="Use it as her hull")).to_contain_text("298 g, as weighed")
    use.click()
    saved(page, workbench, 'mesh = "aft-joined.stl"')
    assert "solid_walled = true" in workbench.text
    assert re.search(r'mass = \{\s*value = "298 g", known = "weighed"\s*\}', workbench.text)
    page.get_by_role("link", name="Back to the hull").click()
    expect(page.get_by_role("region", name="Figures")).to_contain_text("298.0", timeout=LONG_MS)
    page.get_by_role("button", name=re.compile("^Take back: Take aft-joined.stl")).click()
    saved(page, workbench, 'stations = "wren-stations.csv"')
    assert workbench.text == before
    # The pile is still there when the page is opened again.
    page.get_by_role("link", name="Join prints").click()
    expect(page.get_by_role("heading", name="One hull")).to_be_visible()


def test_an_open_piece_is_mended_by_choice_and_a_gap_is_told_with_its_size(
    workbench: Workbench, open_page: OpenPage, tmp_path: Path, pardoned: list[str]
) -> None:
    pardoned.append("status of 422")  # a mass that is none, typed on purpose
    page = open_page(workbench.at("prints"))
    files = [
        write_stl(tmp_path / "aft.stl", without(tube(0.0, 540.0), 7)),
        write_stl(tmp_path / "bow.stl", tube(542.0, 902.0)),
    ]
    page.locator("input[type=file]").set_input_files(files)
    pieces = page.get_by_role("region", name="Pieces")
    expect(pieces).to_contain_text("The surface is open: 3 edges", timeout=LONG_MS)
    expect(pieces.get_by_text("Closed", exact=True)).to_have_count(1, timeout=LONG_MS)
    expect(page.get_by_text("Put right or take out: aft.stl.")).to_be_visible()
    pieces.get_by_role("button", name="Repair").click()
    report = page.get_by_role("region", name="What the repair changed")
    expect(report.get_by_role("row", name=re.compile("^Triangles"))).to_contain_text("511", timeout=LONG_MS)
    report.get_by_role("button", name="Go on with the mended copy").click()
    expect(pieces).to_contain_text("Closed, mended")

    known = page.get_by_role("region", name="What you know of them")
    page.get_by_role("button", name="Join and measure").click()
    expect(known).to_contain_text("2 mm lie between it and aft-mended.stl", timeout=LONG_MS)
    expect(known).to_contain_text("from (542.00")
    page.get_by_label("Stack them end to end").check()
    expect(page.get_by_role("button", name="bow.stl nearer to the stern")).to_be_enabled()
    join(page)
    expect(page.get_by_role("region", name="One hull")).to_contain_text("900.0")
    page.get_by_label("All pieces weigh").fill("much")
    expect(page.get_by_text("The figures beside are those of before your change.")).to_be_visible()
    page.get_by_role("button", name="Join and measure again").click()
    expect(known).to_contain_text("weighed")
    page.get_by_role("button", name="Take out aft.stl").click()
    expect(pieces.get_by_role("listitem")).to_have_count(1)


@pytest.mark.parametrize(
    "sight",
    [Sight(), Sight(theme="dark"), Sight(390, 844, touch=True), Sight(390, 844, "dark", touch=True)],
    ids=lambda sight: f"{sight.width}-{sight.theme}",
)
def test_the_page_is_sound(workbench: Workbench, open_page: OpenPage, tmp_path: Path, sight: Sight) -> None:
    page = open_page(workbench.at("prints"), sight)
    brought(page, halves(tmp_path))
    page.get_by_label("All pieces weigh").fill("298 g")
    page.get_by_label("Material").select_option("PLA filament")
    join(page)
    page.get_by_text("Infill, water, and points").click()
    page.get_by_text("What was assumed").click()
    page.get_by_text("Shift and turn").first.click()
    assert_sound(page, sight)
