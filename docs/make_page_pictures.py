"""Draw docs/pictures/page-*.png afresh: each page of the workbench as it shows the demo boat."""

import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright
from tests.browser import chromium
from tests.support.plan_sheet import Sheet, traced
from tests.support.serving import Server, serving

from dabchick.cli.demo import copy_boat

PICTURES = Path(__file__).parent / "pictures"
PAGES = ("boat", "weights", "tank", "trim", "hull", "trace", "fit", "stability", "versions")
DESK = {"width": 1280, "height": 860}
PHONE = {"width": 390, "height": 844}
SETTLED_MS = 2500
"""Without a graphics chip the 3-D view smooths its edges a while after the last change."""


def main() -> int:
    """Write the pictures."""
    path = chromium.found()
    if path is None:
        sys.stderr.write(f"{chromium.MISSING}\n")
        return 1
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        shelf = Path(scratch) / "shelf"
        shelf.mkdir()
        copy_boat(shelf / "wren")
        with serving(shelf) as server, sync_playwright() as playwright:
            _trace(server, shelf / "wren")
            browser = playwright.chromium.launch(executable_path=path, args=chromium.arguments())
            _draw(browser, server.address)
            browser.close()
    return 0


def _draw(browser: Browser, address: str) -> None:
    desk = browser.new_context(viewport=DESK, color_scheme="light", reduced_motion="reduce").new_page()
    _show(desk, f"{address}/#/", "shelf")
    _show(desk, f"{address}/#/new", "new")
    for name in PAGES:
        desk.goto(f"{address}/#/wren/{name}")
        if name == "trim":
            _solve(desk)
        if name == "fit":
            _choose(desk)
        if name == "stability":
            desk.get_by_role("heading", name="Righting arms", exact=True).wait_for(timeout=120_000)
        _keep(desk, name)
    dark = browser.new_context(viewport=DESK, color_scheme="dark", reduced_motion="reduce").new_page()
    _show(dark, f"{address}/#/wren/boat", "boat-dark")
    phone = browser.new_context(
        viewport=PHONE, color_scheme="light", reduced_motion="reduce", has_touch=True, device_scale_factor=2
    ).new_page()
    _show(phone, f"{address}/#/wren/boat", "boat-phone")


def _trace(server: Server, folder: Path) -> None:
    """A plan in the boat's folder, traced, so that its page has something to show; she does not use it."""
    sheet = Sheet(height_mm=104.0, beam_mm=96.0)
    sheet.save(folder / "plan.png")
    with server.client() as client:
        where = f"/api/boats/{folder.name}/trace"
        client.post(where, json={"base": "", "trace": traced(sheet, "plan.png", 25)}).raise_for_status()


def _show(page: Page, where: str, name: str) -> None:
    page.goto(where)
    _keep(page, name)


def _solve(page: Page) -> None:
    page.get_by_role("button", name="Solve").first.click()
    page.get_by_role("heading", name="Cut list").wait_for(timeout=120_000)


def _choose(page: Page) -> None:
    pairs = page.get_by_role("list", name="Pairs")
    pairs.wait_for(timeout=120_000)
    pairs.get_by_role("button", name="battery and tray").click()


def _keep(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(SETTLED_MS)
    picture = Image.open(BytesIO(page.screenshot()))
    picture.convert("RGB").quantize(256, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(
        PICTURES / f"page-{name}.png", optimize=True
    )


if __name__ == "__main__":
    sys.exit(main())
