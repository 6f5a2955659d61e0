"""A new boat in a real browser: from nothing, or from a file, to a boat that floats."""

import re
from pathlib import Path

import pytest
import trimesh
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench

AXE = Path(__file__).parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"


def ellipsoid(file: Path, length_mm: float = 640.0, beam_mm: float = 96.0, height_mm: float = 110.0) -> Path:
    """A hull as a drawing program would export it: an STL file in mm, which does not say so."""
    hull = trimesh.creation.icosphere(subdivisions=4)
    hull.apply_scale([0.5 * length_mm, 0.5 * beam_mm, 0.5 * height_mm])
    hull.export(file)
    return file


def begun(workbench: Workbench, open_page: OpenPage, sight: Sight | None = None) -> Page:
    page = open_page(f"{workbench.address}/#/new", sight)
    expect(page.get_by_role("checkbox", name="battery", exact=True)).to_be_visible(timeout=30_000)
    return page


def make(page: Page) -> None:
    page.get_by_role("button", name="Make her").click()
    expect(page).to_have_url(re.compile(r"#/[^/]+/boat$"), timeout=90_000)
    expect(page.get_by_role("application")).to_have_attribute("data-drawn", re.compile(r"\d"), timeout=60_000)


def boat_text(workbench: Workbench, boat: str) -> str:
    return (workbench.shelf / boat / "boat.toml").read_text(encoding="utf-8")


def test_only_a_name_is_asked_for(workbench: Workbench, open_page: OpenPage) -> None:
    page = begun(workbench, open_page)
    expect(page.get_by_role("button", name="Make her")).to_be_disabled()
    page.get_by_label("Name", exact=True).fill("Teal")
    expect(page.get_by_role("radio", name=re.compile("^round"))).to_be_checked()
    make(page)
    lies = page.get_by_role("region", name="How she lies")
    expect(lies).to_contain_text("mm")
    text = boat_text(workbench, page.url.split("/")[-2])
    assert 'name = "Teal"' in text
    assert 'name = "cylinder"' in text
    assert "[[tank]]" in text


def test_from_stl_through_unit_to_first_figures(
    workbench: Workbench, open_page: OpenPage, tmp_path: Path
) -> None:
    page = begun(workbench, open_page)
    page.get_by_label("Name", exact=True).fill("Pochard")
    page.get_by_role("radio", name="From a file").check()
    page.locator("input[type=file]").set_input_files(ellipsoid(tmp_path / "pochard.stl"))
    # 640 numbers long: 640 mm is a model, 6.4 m and 16 m are none.
    expect(page.get_by_role("radio", name=re.compile("^mm 640.0 × 110.0 × 96.0 mm"))).to_be_checked(
        timeout=60_000
    )
    expect(page.get_by_role("radio", name=re.compile("likely"))).to_have_count(1)
    expect(page.get_by_text("closed and without faults")).to_be_visible(timeout=60_000)
    # The volume of an ellipsoid is pi/6 x length x beam x height: 3.5387 l; flat facets lie inside it.
    expect(page.get_by_text("3.531 l")).to_be_visible()
    make(page)
    expect(page.get_by_role("region", name="How she lies")).to_contain_text("mm")
    boat = page.url.split("/")[-2]
    text = boat_text(workbench, boat)
    assert 'mesh = "pochard.stl"' in text
    assert 'unit = "mm"' in text
    page.goto(f"{workbench.address}/#/{boat}/hull")
    figures = page.get_by_role("region", name="Figures")
    expect(figures).to_contain_text("640.0 mm", timeout=30_000)
    expect(figures).to_contain_text("96.0 mm")
    expect(figures).to_contain_text("110.0 mm")


def test_wrong_size_is_told_at_its_field_and_nothing_typed_is_lost(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = begun(workbench, open_page)
    page.get_by_label("Name", exact=True).fill("Garganey")
    page.get_by_label("Beam", exact=True).fill("4 m")
    beam = page.get_by_label("Beam", exact=True)
    expect(beam).to_have_attribute("aria-invalid", "true")
    # Length over beam may be 25 to 2: for 900 mm, 36 to 450 mm.
    expect(page.get_by_text("36 mm to 450 mm for her length")).to_be_visible()
    expect(page.get_by_role("button", name="Make her")).to_be_disabled()
    beam.fill("4.4 in")
    expect(beam).to_have_attribute("aria-invalid", "false")
    page.get_by_role("radio", name="inch and oz").check()
    expect(page.get_by_label("Length", exact=True)).to_have_value("36 in")
    expect(beam).to_have_value("4.4 in")
    # A look at the shelf and back costs nothing.
    page.get_by_role("link", name="To the shelf").click()
    page.get_by_role("link", name="New boat").click()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Garganey")
    expect(beam).to_have_value("4.4 in")


def test_file_that_is_no_hull_is_refused_with_advice(
    workbench: Workbench, open_page: OpenPage, tmp_path: Path
) -> None:
    page = begun(workbench, open_page)
    page.get_by_label("Name", exact=True).fill("Smew")
    page.get_by_role("radio", name="From a file").check()
    broken = tmp_path / "stations.csv"
    broken.write_text("unit, mm\nmeasured from, bow\nstation_x, height, half_breadth\n0, 0, nan\n")
    page.locator("input[type=file]").set_input_files(broken)
    expect(page.get_by_text("Fault").first).to_be_visible(timeout=60_000)
    expect(page.get_by_role("button", name="Make her")).to_be_disabled()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Smew")


@pytest.mark.parametrize("sight", [Sight(), Sight(1024, 768, "dark"), Sight(390, 844, "light", touch=True)])
def test_nothing_serious_for_people_and_nothing_cut_off(
    workbench: Workbench, open_page: OpenPage, sight: Sight
) -> None:
    page = begun(workbench, open_page, sight)
    assert page.evaluate("document.documentElement.scrollWidth") <= sight.width
    assert page.evaluate("document.documentElement.scrollHeight") == sight.height
    page.evaluate(AXE.read_text("utf-8"))
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    serious = [one["id"] for one in found["violations"] if one["impact"] in ("serious", "critical")]
    assert serious == []
