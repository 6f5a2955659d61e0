"""What must hold of every page, however wide and in whichever theme."""

from pathlib import Path

from playwright.sync_api import Page

from tests.browser.conftest import Sight, Workbench

AXE = Path(__file__).parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"
DESK_AND_PHONE = (Sight(), Sight(390, 844, "dark", touch=True))
"""For pages that test_people.py sees in the light and in the dark, desk and phone, as they open."""
SIGHTS = (Sight(), Sight(1024, 768, "dark"), Sight(390, 844, touch=True), Sight(390, 844, "dark", touch=True))


def assert_sound(page: Page, sight: Sight) -> None:
    """No heading or name cut off, nothing wider or longer than the window, nothing serious found by axe."""
    assert page.evaluate("document.documentElement.scrollWidth") == sight.width
    # A page scrolls within its frame, between the heads and the tabs.
    assert page.evaluate("document.documentElement.scrollHeight") == sight.height
    cut = page.evaluate(
        "[...document.querySelectorAll("
        "'h1, h2, h3, label, legend, th, dt, dd, .name, .sentence, .ag-header-cell-text')]"
        ".filter((e) => !e.closest('.unseen') && e.clientWidth > 0 && e.scrollWidth > e.clientWidth + 1)"
        ".map((e) => e.textContent)"
    )
    assert cut == []
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run().then((result) => result.violations)")
    serious = [
        (one["id"], [node["html"][:200] for node in one["nodes"]])
        for one in found
        if one["impact"] in ("serious", "critical")
    ]
    assert serious == []


def saved(page: Page, workbench: Workbench, text: str) -> None:
    """Returns once the boat file holds this text."""
    for _ in range(400):
        if text in workbench.text:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"{text!r} was not saved")
