"""The trim page in a real browser: wishes, search, cancel, answer, apply, undo, sheet, and what stands in the way."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import SIGHTS, assert_sound, saved

PHONE = Sight(390, 844, touch=True)
SEARCH_MS = 120_000
"""A search is given up after this; it takes a few seconds on a machine with nothing else to do."""


def opened(page: Page) -> Page:
    expect(page.get_by_role("heading", name="Wishes")).to_be_visible(timeout=60_000)
    return page


def solved(page: Page) -> Page:
    page.get_by_role("button", name=re.compile("^Solve")).click()
    expect(page.get_by_text("Found by the search, not written yet")).to_be_visible(timeout=SEARCH_MS)
    return page


def pieces(page: Page) -> list[str]:
    return page.get_by_role("region", name="Cut list").locator("tbody tr .place").all_inner_texts()


def test_solve_apply_and_undo(workbench: Workbench, open_page: OpenPage) -> None:
    page = solved(opened(open_page(workbench.at("trim"))))
    before = workbench.text
    expect(page.locator(".sentence")).to_contain_text("Wren floats on her waterline and hangs level")
    found = pieces(page)
    assert found
    # Every piece has its number in the drawing, and lead is cautioned beside the list.
    expect(page.get_by_role("button", name=re.compile(r"^\d+: (lead|foam)"))).to_have_count(len(found))
    expect(page.get_by_role("region", name="Cut list")).to_contain_text("wash hands")
    surfaced = page.get_by_role("region", name="Surfaced")
    # She is wished to float at 82 mm and floats there within a mm, at both marks.
    for mark in ("bow", "stern"):
        after = surfaced.get_by_role("row", name=re.compile(f"{mark} mark")).locator(".after").inner_text()
        assert float(re.split(r"\s", after)[0]) == pytest.approx(82.0, abs=1.0)
    page.get_by_role("button", name="Apply").click()
    expect(page.get_by_text("The trim that the boat file holds")).to_be_visible()
    assert workbench.text.count('from = "trim"') == len(found)
    assert sorted(pieces(page)) == sorted(found)
    page.locator(".said").get_by_role("button", name=re.compile("^Undo")).click()
    expect(page.get_by_text("The trim that the boat file holds")).to_be_hidden()
    assert workbench.text == before


def test_search_tells_how_far_it_is_and_can_be_cancelled(workbench: Workbench, open_page: OpenPage) -> None:
    page = opened(open_page(workbench.at("trim")))
    before = workbench.text
    page.get_by_role("button", name=re.compile("^Solve")).click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_text("The search was cancelled; nothing is changed.")).to_be_visible()
    expect(page.get_by_role("progressbar")).to_be_hidden()
    assert workbench.text == before


def test_wishes_are_lines_of_the_file_in_any_unit(workbench: Workbench, open_page: OpenPage) -> None:
    page = opened(open_page(workbench.at("trim")))
    lift = page.get_by_label("Lift when dived")
    lift.fill("0.5 oz")
    lift.press("Enter")
    # The comment behind the line stays.
    saved(page, workbench, 'lift_dived = "0.5 oz"   # so much she should')
    page.get_by_role("radio", name="Sheet, cut to mass").click()
    saved(page, workbench, "sheet = true")
    # The file may not say both; choosing pieces again brings back those that stood there.
    assert "pieces" not in workbench.text.split("[trim]")[1]
    page.get_by_role("radio", name="Pieces at hand").click()
    saved(page, workbench, 'pieces = ["2 g", "5 g", "10 g", "20 g"]')
    assert "sheet = true" not in workbench.text
    page.get_by_role("textbox", name="Foam sheet").fill("thick")
    page.get_by_role("textbox", name="Foam sheet").press("Enter")
    expect(page.get_by_role("textbox", name="Foam sheet")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("button", name=re.compile("^Solve"))).to_be_disabled()
    page.get_by_role("textbox", name="Foam sheet").fill("")
    page.get_by_role("textbox", name="Foam sheet").press("Enter")
    expect(page.get_by_role("button", name=re.compile("^Solve"))).to_be_enabled()
    assert "thick" not in workbench.text.split("[trim]")[1]


def test_places_are_added_changed_and_taken_away(workbench: Workbench, open_page: OpenPage) -> None:
    page = opened(open_page(workbench.at("trim")))
    page.get_by_role("button", name="Add a place").click()
    dialog = page.get_by_role("dialog")
    dialog.get_by_label("Name").fill("keel fore")
    dialog.get_by_role("radio", name="Lead").check()
    corners = {"One corner": ("200 mm", "-8 mm", "8 mm"), "Opposite corner": ("300 mm", "8 mm", "14 mm")}
    for group, texts in corners.items():
        fields = dialog.get_by_role("group", name=group).get_by_role("textbox").all()
        for field, text in zip(fields, texts, strict=True):
            field.fill(text)
    dialog.get_by_role("button", name="Add place").click()
    expect(dialog).to_be_hidden()
    place = '[[place]]\nname = "keel fore"\nfor = "lead"\nlow = ["200 mm", "-8 mm", "8 mm"]'
    assert place in workbench.text
    page.get_by_label("Lead goes to").select_option("named")
    expect(page.get_by_label("keel fore", exact=True)).to_be_checked()
    assert re.search(r'lead = \{.*places = \["keel fore"\]', workbench.text)
    page.get_by_role("button", name="Change keel fore").click()
    dialog.get_by_label("Name").fill("fore keel")
    dialog.get_by_role("button", name="Keep").click()
    expect(dialog).to_be_hidden()
    expect(page.get_by_label("fore keel", exact=True)).to_be_checked()
    assert "keel fore" not in workbench.text
    page.get_by_role("button", name="Delete fore keel").click()
    expect(page.get_by_text("fore keel", exact=True)).to_have_count(0)
    assert "[[place]]" not in workbench.text


def test_wish_that_cannot_be_kept_is_told_in_plain_words(workbench: Workbench, open_page: OpenPage) -> None:
    page = opened(open_page(workbench.at("trim")))
    bg = page.get_by_label("Least BG")
    # Her whole cylinder is 80 mm high; weight cannot hang 60 mm below what lifts it.
    bg.fill("60 mm")
    bg.press("Enter")
    solved(page)
    expect(page.locator(".obstacles li").first).to_be_visible()
    expect(page.get_by_role("button", name="Apply")).to_be_disabled()
    expect(page.get_by_text("Not all wishes can be kept, so there is nothing to apply")).to_be_visible()


def test_answer_for_another_boat_is_not_applied(workbench: Workbench, open_page: OpenPage) -> None:
    page = solved(opened(open_page(workbench.at("trim"))))
    lift = page.get_by_label("Lift when dived")
    lift.fill("20 g")
    lift.press("Enter")
    expect(page.get_by_text("The boat has changed since this was worked out.")).to_be_visible()
    expect(page.get_by_role("button", name="Apply")).to_be_disabled()


def test_sheet_to_look_at_and_to_take_away(workbench: Workbench, open_page: OpenPage) -> None:
    page = solved(opened(open_page(workbench.at("trim"))))
    picture = page.get_by_role("img", name=re.compile("^Drawing of Wren"))
    picture.scroll_into_view_if_needed()
    expect(picture).to_have_js_property("complete", True)
    assert picture.evaluate("(image) => image.naturalWidth") > 100
    starts = {"PDF, A4": b"%PDF", "PDF, Letter": b"%PDF", "Drawing, SVG": b"<", "Pieces, CSV": b""}
    for name, start in starts.items():
        with page.expect_download() as told:
            page.get_by_role("link", name=name).click()
        content = told.value.path().read_bytes()
        assert content.startswith(start)
        assert len(content) > 100


def test_only_the_cut_list_is_printed(workbench: Workbench, open_page: OpenPage) -> None:
    page = solved(opened(open_page(workbench.at("trim"))))
    page.emulate_media(media="print")
    expect(page.get_by_role("heading", name="Cut list")).to_be_visible()
    expect(page.get_by_role("heading", name="Wishes")).to_be_hidden()
    expect(page.get_by_role("heading", name="Before and after")).to_be_hidden()


def test_nothing_is_cut_off_and_axe_finds_nothing_serious(workbench: Workbench, open_page: OpenPage) -> None:
    first = solved(opened(open_page(workbench.at("trim"))))
    first.get_by_role("button", name="Apply").click()
    expect(first.get_by_text("The trim that the boat file holds")).to_be_visible()
    first.context.close()
    for sight in SIGHTS:
        page = open_page(workbench.at("trim"), sight)
        expect(page.get_by_text("The trim that the boat file holds")).to_be_visible(timeout=60_000)
        assert_sound(page, sight)
        page.context.close()
