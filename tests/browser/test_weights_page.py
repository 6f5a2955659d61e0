"""The weight list in a real browser: typing, faults, paste, sorting, many rows, two hands on one cell, a thumb."""

import csv
import io
import re
import tomllib

import pytest
from playwright.sync_api import Browser, FilePayload, Locator, Page, expect

from dabchick.model.advice import BoatError
from dabchick.storage.folder import open_boat
from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import SIGHTS, assert_sound, saved

PHONE = Sight(390, 844, touch=True)
BATTERY = 4
"""The fourth part of the demo boat."""


def listed(page: Page) -> Page:
    """The page, once the list with its total is there."""
    expect(page.locator("section.foot .figure:visible")).to_contain_text(
        re.compile(r"\d\s\w"), timeout=60_000
    )
    return page


def cell(page: Page, part: int, column: str) -> Locator:
    return page.locator(f'.ag-row[row-id="part[{part}]"] [col-id="{column}"]')


def type_in(page: Page, part: int, column: str, text: str) -> None:
    cell(page, part, column).click()
    page.keyboard.press("Enter")
    page.keyboard.press("Control+a")
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def paste(page: Page, text: str) -> None:
    """As the browser tells a page of a paste."""
    page.evaluate(
        """(text) => {
            const data = new DataTransfer();
            data.setData("text/plain", text);
            const event = new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true });
            document.activeElement.dispatchEvent(event);
        }""",
        text,
    )


def rows(page: Page) -> Locator:
    """The cells with the names, in no order."""
    return page.locator('.ag-row [role="gridcell"][col-id="name"]')


def name_at(page: Page, index: int) -> Locator:
    return page.locator(f'.ag-row[row-index="{index}"] [role="gridcell"][col-id="name"]')


def test_cell_takes_any_unit_and_the_total_follows(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights")))
    # By hand: every mass that stands in the demo boat's file, skin and tank walls with them, added up.
    expect(page.get_by_test_id("total")).to_have_text("2691.9 g")
    type_in(page, BATTERY, "mass", "20 oz")
    # 20 oz are 566.99 g, so the battery's 506 g grow by 61.0 g.
    expect(page.get_by_test_id("total")).to_have_text("2752.9 g")
    expect(cell(page, BATTERY, "mass")).to_contain_text("20 oz")
    assert re.search(r'value = "20 oz", known = "weighed" \} # eight cells', workbench.text)
    page.keyboard.press("Control+z")
    expect(page.get_by_test_id("total")).to_have_text("2691.9 g")
    assert '"506 g"' in workbench.text


def test_bad_cell_carries_the_advice_of_the_command_line(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights")))
    does = page.get_by_test_id("does").inner_text()
    type_in(page, BATTERY, "mass", "heavy")
    expect(cell(page, BATTERY, "mass")).to_have_class(re.compile("fault"))
    expect(page.get_by_text("One cell is to put right.")).to_be_visible()
    with pytest.raises(BoatError) as fault:
        open_boat(workbench.shelf / workbench.boat)
    (advice,) = fault.value.advice
    assert advice.what in cell(page, BATTERY, "mass").inner_text()
    page.locator("[col-id=note]").first.wait_for(state="attached")
    page.keyboard.press("F8")
    expect(cell(page, BATTERY, "mass")).to_be_focused()
    line = page.locator("[aria-live]").filter(has_text="battery")
    expect(line).to_contain_text(advice.what)
    expect(line).to_contain_text(advice.todo)
    # What she does is still told of the last list without faults, and the page says so.
    expect(page.get_by_text("The figures are of the last list without faults.")).to_be_visible()
    assert page.get_by_test_id("does").inner_text() == does
    page.keyboard.press("Control+z")
    expect(cell(page, BATTERY, "mass")).not_to_have_class(re.compile("fault"))


def test_choices_and_ticks_by_keyboard(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights")))
    cell(page, BATTERY, "known").click()
    page.keyboard.press("Enter")
    expect(page.get_by_role("option", name="weighed")).to_be_visible()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(cell(page, BATTERY, "known")).to_have_text("measured")
    # Measured is worth 3 %, of 506 g 15.2 g, where weighed was 0.2 %.
    expect(cell(page, BATTERY, "spread")).to_contain_text("15.2 g")
    cell(page, BATTERY, "known").click()
    # Nine columns on stands "Outside".
    for _ in range(9):
        page.keyboard.press("ArrowRight")
    page.keyboard.press(" ")
    expect(cell(page, BATTERY, "outside").get_by_role("checkbox")).to_be_checked()
    # The page shows the tick before it is saved; the new line stands behind the battery's last one.
    saved(page, workbench, "may slide this far on its rail\noutside = true")
    assert tomllib.loads(workbench.text)["part"][BATTERY - 1]["outside"] is True


def test_paste_is_told_in_words_and_taken_back_at_once(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights")))
    before = workbench.text
    cell(page, BATTERY, "mass").click()
    paste(page, "18 oz\tmeasured\n33 g\tguess\n")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("battery: mass from 506 g to 18 oz")
    expect(dialog).to_contain_text("tray: known from weighed to guess")
    assert workbench.text == before
    dialog.get_by_role("button", name="Paste 4 cells").click()
    expect(dialog).to_be_hidden()
    expect(cell(page, BATTERY + 1, "mass")).to_contain_text("33 g")
    page.keyboard.press("Control+z")
    expect(cell(page, BATTERY + 1, "mass")).to_contain_text("31 g")
    assert workbench.text == before


def test_new_parts_from_a_csv_file(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights")))
    text = 'name,kind,inside,mass,known,x,y,z\nhorn,inside,cylinder,7 oz,weighed,"300 mm",0,"40 mm"\n'
    file = FilePayload(name="parts.csv", mimeType="text/csv", buffer=text.encode())
    page.get_by_label("CSV file").set_input_files(file)
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("horn")
    dialog.get_by_role("button", name=re.compile("1")).last.click()
    expect(dialog).to_be_hidden()
    # 7 oz are 198.4 g on top of 2691.9 g.
    expect(page.get_by_test_id("total")).to_have_text("2890.3 g")
    page.get_by_role("button", name="Table").click()
    with page.expect_download() as told:
        page.get_by_role("menuitem", name="Save as CSV").click()
    rows = list(csv.reader(io.StringIO(told.value.path().read_text(encoding="utf-8-sig"))))
    assert any(row[0] == "horn" and "7 oz" in row for row in rows)


def test_add_copy_and_delete(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights")))
    page.get_by_role("button", name="Add part").click()
    dialog = page.get_by_role("dialog")
    dialog.get_by_label("Name").fill("horn")
    dialog.get_by_label("Mass").fill("100 g")
    dialog.get_by_label("x from bow").fill("12 in")
    dialog.get_by_label("z over keel").fill("40 mm")
    dialog.get_by_label("z over keel").press("Enter")
    expect(dialog).to_be_hidden()
    expect(page.get_by_test_id("total")).to_have_text("2791.9 g")
    assert 'at = ["12 in", 0, "40 mm"]' in workbench.text
    # The new row has the keyboard; a key of the page is not typed into it.
    page.keyboard.press("/")
    page.keyboard.type("horn")
    expect(rows(page)).to_have_count(1)
    rows(page).click()
    page.keyboard.press(" ")
    page.get_by_role("button", name="Copy 1").click()
    expect(page.get_by_test_id("total")).to_have_text("2891.9 g")
    expect(rows(page)).to_have_count(2)
    page.locator(".ag-header-select-all input").click()
    rows(page).first.click()
    page.keyboard.press("Delete")
    page.get_by_role("dialog").get_by_role("button", name="Delete").click()
    expect(page.get_by_test_id("total")).to_have_text("2691.9 g")
    page.get_by_label("Find in the list").fill("")
    cell(page, BATTERY, "mass").click()
    page.keyboard.press("Control+z")
    expect(page.get_by_test_id("total")).to_have_text("2891.9 g")


def test_sorted_by_size_in_whatever_unit(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights")))
    type_in(page, BATTERY, "mass", "0.4 kg")
    expect(page.get_by_test_id("total")).to_have_text("2585.9 g")
    head = page.locator('.ag-header-cell[col-id="mass"]')
    head.click()
    head.click()
    # 652 g, 0.4 kg, 352 g: by the figure alone 0.4 would be the least.
    for index, name in enumerate(("skin", "battery", "cylinder")):
        expect(name_at(page, index)).to_contain_text(name)
    page.get_by_label("Kind", exact=True).select_option("solid")
    expect(name_at(page, 0)).to_contain_text("keel bar")


def test_hundreds_of_rows_are_drawn_a_screenful_at_a_time(workbench: Workbench, open_page: OpenPage) -> None:
    more = "".join(
        f'\n[[part]]\nname = "weight {at}"\nkind = "inside"\ninside = "cylinder"\nat = ["400 mm", 0, "48 mm"]\n'
        f'mass = {{ value = "0.1 g", known = "weighed" }}\n'
        for at in range(470)
    )
    file = workbench.shelf / workbench.boat / "boat.toml"
    file.write_text(workbench.text + more, encoding="utf-8")
    page = listed(open_page(workbench.at("weights")))
    # 31 rows and 470 of a tenth of a gram.
    expect(page.get_by_test_id("total")).to_have_text("2738.9 g")
    drawn = rows(page)
    assert 10 < drawn.count() < 70
    cell(page, 1, "mass").click()
    page.keyboard.press("Control+End")
    last = 29 + 470
    expect(cell(page, last, "mass")).to_be_visible()
    type_in(page, last, "mass", "10.1 g")
    expect(page.get_by_test_id("total")).to_have_text("2748.9 g")
    assert drawn.count() < 70


def test_two_hands_on_one_cell_lose_nothing(workbench: Workbench, browser: Browser) -> None:
    ours, theirs = (browser.new_page() for _ in range(2))
    for page in (ours, theirs):
        page.goto(workbench.at("weights"))
        listed(page)
    cell(ours, BATTERY, "mass").click()
    ours.keyboard.press("Enter")
    ours.keyboard.press("Control+a")
    ours.keyboard.type("7 oz")
    type_in(theirs, BATTERY, "mass", "500 g")
    expect(theirs.get_by_test_id("total")).to_have_text("2685.9 g")
    # The figures of the other hand come in while this one is still typing.
    expect(ours.get_by_test_id("total")).to_have_text("2685.9 g")
    expect(ours.locator(".ag-cell-inline-editing input")).to_have_value("7 oz")
    ours.keyboard.press("Enter")
    expect(ours.get_by_text("Changed meanwhile")).to_be_visible()
    expect(ours.get_by_text('= "7 oz"')).to_be_visible()
    assert '"500 g"' in workbench.text
    ours.get_by_role("button", name="Try again").click()
    expect(cell(ours, BATTERY, "mass")).to_contain_text("7 oz")
    expect(cell(theirs, BATTERY, "mass")).to_contain_text("7 oz")
    assert '"7 oz"' in workbench.text
    for page in (ours, theirs):
        page.context.close()


def test_list_under_a_thumb(workbench: Workbench, open_page: OpenPage) -> None:
    page = listed(open_page(workbench.at("weights"), PHONE))
    page.get_by_role("list", name="Weight list").get_by_role("button", name="battery").tap()
    sheet = page.get_by_role("dialog")
    sheet.get_by_label("Mass").fill("20 oz")
    sheet.get_by_label("Mass").press("Enter")
    expect(sheet).to_contain_text("567.0 g")
    sheet.get_by_label("Known how").select_option("guess")
    # A guess is worth 25 % of 567 g.
    expect(sheet).to_contain_text("± 141.7 g")
    sheet.get_by_role("button", name="Done").tap()
    expect(page.locator(".fold .figure")).to_have_text("2752.9 g")
    page.get_by_role("button", name="What it does to her").tap()
    expect(page.get_by_test_id("does")).to_be_visible()


def test_nothing_is_cut_off_and_axe_finds_nothing_serious(workbench: Workbench, open_page: OpenPage) -> None:
    for sight in SIGHTS:
        page = listed(open_page(workbench.at("weights"), sight))
        assert_sound(page, sight)
        page.context.close()
