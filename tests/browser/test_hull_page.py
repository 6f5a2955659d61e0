"""The hull page in a real browser: another mesh with its repair, and skin, waterline, marks and openings."""

import re
from pathlib import Path

import numpy as np
import pytest
import trimesh
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench

AXE = Path(__file__).parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"


def open_hull(file: Path) -> Path:
    """An ellipsoid of 920 x 130 x 140 mm with a triangle missing on deck and another at the bow."""
    hull = trimesh.creation.icosphere(subdivisions=4)
    hull.apply_scale([460.0, 65.0, 70.0])
    kept = np.ones(len(hull.faces), dtype=bool)
    kept[[np.argmax(hull.triangles_center[:, 2]), np.argmax(hull.triangles_center[:, 0])]] = False
    trimesh.Trimesh(hull.vertices, hull.faces[kept], process=False).export(file)
    return file


def shown(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = open_page(workbench.at("hull"), sight)
    expect(page.get_by_role("region", name="Figures")).to_contain_text("900.0 mm", timeout=90_000)
    return page


def written(workbench: Workbench, page: Page, text: str) -> None:
    """Waits until the file on disk holds the text."""
    for _ in range(100):
        if text in workbench.text:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{text} does not stand in the file:\n{workbench.text}")


def test_open_mesh_is_refused_repaired_by_choice_used_and_undone(
    workbench: Workbench, open_page: OpenPage, tmp_path: Path
) -> None:
    before = workbench.text
    page = shown(workbench, open_page)
    page.get_by_role("button", name="Bring in another hull").click()
    page.locator("input[type=file]").set_input_files(open_hull(tmp_path / "open.stl"))
    panel = page.get_by_role("region", name="Another hull")
    use = page.get_by_role("button", name="Use this hull")
    # Each missing triangle leaves three edges with one face.
    expect(panel).to_contain_text("The surface is open: 6 edges", timeout=60_000)
    expect(panel).to_contain_text("open.stl at (")
    expect(page.get_by_role("button", name="Place 2")).to_be_enabled(timeout=60_000)
    expect(use).to_be_disabled()
    page.get_by_role("button", name="Place 2").click()
    expect(panel.get_by_text("Place 2", exact=True).first).to_be_visible()

    panel.get_by_role("button", name="Repair").click()
    report = page.get_by_role("region", name="What the repair changed")
    expect(report.get_by_role("listitem").first).to_contain_text("Capped", timeout=120_000)
    # An icosphere of 4 subdivisions has 5120 triangles.
    expect(report.get_by_role("row", name=re.compile("^Triangles"))).to_contain_text("5118")
    expect(report.get_by_role("row", name=re.compile("^Triangles"))).to_contain_text("5120")
    expect(use).to_be_disabled()
    assert workbench.text == before

    report.get_by_role("button", name="Go on with the mended copy").click()
    expect(panel).to_contain_text("closed and without faults")
    use.click()
    expect(panel).to_have_count(0, timeout=90_000)
    written(workbench, page, 'mesh = "open-mended.stl"')
    assert 'stations = "' not in workbench.text
    expect(page.get_by_role("region", name="Figures")).to_contain_text("920.0 mm", timeout=60_000)

    page.get_by_role("button", name=re.compile("^Take back:")).click()
    written(workbench, page, 'stations = "wren-stations.csv"')
    assert workbench.text == before
    expect(page.get_by_role("region", name="Figures")).to_contain_text("900.0 mm", timeout=60_000)


def test_bow_and_deck_are_turned_before_use(
    workbench: Workbench, open_page: OpenPage, tmp_path: Path
) -> None:
    hull = trimesh.creation.icosphere(subdivisions=3)
    hull.apply_scale([65.0, 70.0, 460.0])  # drawn standing on its stern
    hull.export(tmp_path / "standing.stl")
    page = shown(workbench, open_page)
    page.get_by_role("button", name="Bring in another hull").click()
    page.locator("input[type=file]").set_input_files(tmp_path / "standing.stl")
    bow, up = page.get_by_label("Bow points along"), page.get_by_label("Up is along")
    expect(bow).to_have_value("+z", timeout=60_000)
    expect(up).to_have_value("+y")
    page.get_by_role("button", name="End for end").click()
    expect(bow).to_have_value("-z")
    page.get_by_role("button", name="Quarter roll").click()
    # Port is up x bow = y x -z = -x.
    expect(up).to_have_value("-x")
    page.get_by_role("button", name="Use this hull").click()
    written(workbench, page, 'bow = "-z"')
    assert 'up = "-x"' in workbench.text
    # Beam is now the file's y: 140 mm, and height its x: 130 mm.
    figures = page.get_by_role("region", name="Figures")
    expect(figures).to_contain_text("920.0 mm", timeout=60_000)
    beam = figures.locator("div", has_text=re.compile(r"^\s*Beam")).last
    expect(beam).to_contain_text("140.0 mm")


def test_entries_are_written_as_typed_and_undone(workbench: Workbench, open_page: OpenPage) -> None:
    before = workbench.text
    page = shown(workbench, open_page)
    page.get_by_label("Waterline", exact=True).fill("3 1/4 in")
    page.get_by_label("Waterline", exact=True).press("Enter")
    written(workbench, page, 'waterline = "3 1/4 in" # the casing')
    page.get_by_label("Give or take").fill("0.2 mm")
    page.get_by_label("Give or take").press("Enter")
    written(workbench, page, 'thickness = "1.8 mm", spread = "0.2 mm"')
    page.get_by_label("Opening 2, from bow").fill("17 in")
    page.get_by_label("Opening 2, from bow").press("Enter")
    written(workbench, page, '{ at = ["17 in", 0, "1 mm"], area = "60 mm^2" }')
    for label, text in (("from bow", "300 mm"), ("to port", "0"), ("from keel", "0"), ("area", "0.1 in^2")):
        page.get_by_label(f"New opening, {label}").fill(text)
    page.get_by_label("New opening, area").press("Enter")
    written(workbench, page, '{ at = ["300 mm", 0, 0], area = "0.1 in^2" }')
    expect(page.get_by_label("Opening 8, area")).to_have_value("0.1 in^2")
    expect(page.get_by_label("New opening, area")).to_have_value("")
    page.get_by_role("button", name="Remove opening 1").click()
    expect(page.get_by_label("Opening 8, area")).to_have_count(0)
    assert '"120 mm", 0, "6 mm"' not in workbench.text
    page.get_by_role("button", name="Take the marks away").click()
    expect(page.get_by_text("None set")).to_be_visible()
    page.get_by_label("Bow mark, from bow").fill("50 mm")
    page.get_by_label("Stern mark, from bow").fill("810 mm")
    page.get_by_label("Stern mark, from bow").press("Enter")
    written(workbench, page, 'marks = { bow = "50 mm", stern = "810 mm" }')
    steps = ("Set the draught marks", "Take the draught marks away", "Remove opening 1", "Add opening 8",
             "Place opening 2", "Spread of the skin's thickness: 0.2 mm", "Waterline: 3 1/4 in")  # fmt: skip
    for step in steps:
        page.get_by_role("button", name=f"Take back: {step}").click(timeout=30_000)
    expect(page.get_by_role("button", name="Nothing to take back")).to_be_disabled(timeout=30_000)
    assert workbench.text == before


def test_fault_stands_at_its_field_until_put_right(workbench: Workbench, open_page: OpenPage) -> None:
    page = shown(workbench, open_page)
    thickness = page.get_by_label("Thickness", exact=True)
    thickness.fill("1.8")
    thickness.press("Enter")
    expect(thickness).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("region", name="Skin")).to_contain_text("unit")
    # The figures stay those of the last right file.
    expect(page.get_by_role("region", name="Figures")).to_contain_text("652.0 g")
    area = page.get_by_label("Opening 3, area")
    area.fill("60 g")
    area.press("Enter")
    expect(area).to_have_attribute("aria-invalid", "true")
    thickness.fill("1.8 mm")
    thickness.press("Enter")
    area.fill("60 mm^2")
    area.press("Enter")
    expect(area).to_have_attribute("aria-invalid", "false")
    expect(thickness).to_have_attribute("aria-invalid", "false")


@pytest.mark.parametrize("sight", [Sight(), Sight(1024, 768, "dark"), Sight(390, 844, "light", touch=True)])
def test_nothing_serious_for_people_and_nothing_cut_off(
    workbench: Workbench, open_page: OpenPage, sight: Sight, tmp_path: Path
) -> None:
    page = shown(workbench, open_page, sight)
    page.get_by_role("button", name="Bring in another hull").click()
    page.locator("input[type=file]").set_input_files(open_hull(tmp_path / "open.stl"))
    expect(page.get_by_role("button", name="Repair")).to_be_visible(timeout=60_000)
    assert page.evaluate("document.documentElement.scrollWidth") <= sight.width
    assert page.evaluate("document.documentElement.scrollHeight") == sight.height
    assert page.locator("main").evaluate("main => main.scrollWidth - main.clientWidth") == 0
    page.evaluate(AXE.read_text("utf-8"))
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    serious = [one["id"] for one in found["violations"] if one["impact"] in ("serious", "critical")]
    assert serious == []
