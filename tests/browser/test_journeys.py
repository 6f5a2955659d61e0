"""What a builder does at the bench from beginning to end, in a real browser."""

import re
import tomllib
from pathlib import Path

from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.support.serving import demo_shelf, needs_second_loopback, serving

PHONE = Sight(390, 844, touch=True)
SOLVE_MS = 120_000
"""For a trim on a busy machine; a usual one takes a few seconds."""
MOST_TABS = 150
NO_SERVER = (
    "ERR_CONNECTION_REFUSED",
    "ERR_EMPTY_RESPONSE",
    "ERR_CONNECTION_RESET",
    "ERR_CONTENT_LENGTH_MISMATCH",
    "WebSocket connection to",
)


def cell(page: Page, part: int, column: str) -> Locator:
    """A cell of the weight list; parts are counted from 1, as the list does."""
    return page.locator(f'[row-id="part[{part}]"] [col-id="{column}"]')


def type_into(page: Page, target: Locator, text: str) -> None:
    target.click()
    page.keyboard.press("Enter")
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def taking_back(page: Page) -> Locator:
    return page.get_by_role("banner").get_by_role("button", name=re.compile("^Take back"))


def from_menu(page: Page, choice: str) -> None:
    page.get_by_role("banner").get_by_role("button", name="More", exact=True).click()
    page.get_by_role("menuitem", name=choice).click()


def drawn(page: Page) -> None:
    """The boat has been drawn as an answer has her."""
    expect(page.get_by_role("application")).to_have_attribute("data-drawn", re.compile(r"\d"), timeout=60_000)


def part_button(page: Page, name: str) -> Locator:
    return page.get_by_role("region", name="Parts").get_by_role("button", name=re.compile(f"^{name}"))


def test_a_bad_cell_is_marked_explained_and_put_right(workbench: Workbench, open_page: OpenPage) -> None:
    page = open_page(workbench.at("weights"))
    battery = cell(page, 4, "mass")
    expect(battery).to_contain_text("506 g")
    type_into(page, battery, "506 kilos")
    expect(page.get_by_text("One cell is to put right.")).to_be_visible()
    # Saved as it was typed, faulty or not, and the frame says so on every page.
    assert workbench.part("battery")["mass"]["value"] == "506 kilos"
    expect(page.get_by_role("button", name=re.compile("1 thing to mend"))).to_be_visible()
    page.keyboard.press("F8")
    expect(page.locator(".line.wrong")).to_contain_text("battery")
    expect(battery).to_contain_text("To put right")
    type_into(page, battery, "18 oz")
    expect(page.get_by_text("One cell is to put right.")).to_be_hidden()
    expect(page.get_by_role("button", name=re.compile("to mend"))).to_be_hidden()
    # In the unit that was typed; a comment of the builder behind it stays.
    assert '"18 oz", known = "weighed" } # eight cells' in workbench.text


def test_a_trim_is_solved_applied_and_taken_back(workbench: Workbench, open_page: OpenPage) -> None:
    before = workbench.text
    page = open_page(workbench.at("trim"))
    page.get_by_role("button", name="Solve", exact=True).click()
    apply = page.get_by_role("button", name="Apply", exact=True)
    expect(apply).to_be_enabled(timeout=SOLVE_MS)
    assert workbench.text == before
    apply.click()
    expect(page.get_by_text("The trim that the boat file holds")).to_be_visible(timeout=60_000)
    fitted = [part for part in tomllib.loads(workbench.text)["part"] if part.get("from") == "trim"]
    assert {part["kind"] for part in fitted} == {"lead", "foam"}
    taking_back(page).click()
    expect(page.get_by_text("Taken back: Apply the trim")).to_be_visible()
    assert workbench.text == before
    # The page holds what was found, so that it can be applied again.
    page.keyboard.press("Control+Shift+Z")
    expect(page.get_by_text("Done again: Apply the trim")).to_be_visible()
    assert [part for part in tomllib.loads(workbench.text)["part"] if part.get("from") == "trim"] == fitted


def test_the_sheet_of_a_trim_is_shown_and_saved(workbench: Workbench, open_page: OpenPage) -> None:
    page = open_page(workbench.at("trim"))
    page.get_by_role("button", name="Solve", exact=True).click()
    expect(page.get_by_role("button", name="Apply", exact=True)).to_be_enabled(timeout=SOLVE_MS)
    with page.expect_download() as saving:
        page.get_by_role("link", name=re.compile("PDF")).first.click()
    assert saving.value.path().read_bytes().startswith(b"%PDF-")
    assert saving.value.suggested_filename == "wren-trim-sheet.pdf"


def test_the_server_goes_and_comes_again_under_an_open_page(
    tmp_path: Path, browser: Browser, open_page: OpenPage, pardoned: list[str]
) -> None:
    with serving(demo_shelf(tmp_path / "shelf")) as server:
        workbench = Workbench(server, "wren")
        before = workbench.text
        page = open_page(workbench.at("weights"))
        type_into(page, cell(page, 4, "mass"), "500 g")
        expect(taking_back(page)).to_be_enabled()
        assert workbench.part("battery")["mass"]["value"] == "500 g"
        pardoned += NO_SERVER
        server.kill()
        type_into(page, cell(page, 4, "mass"), "490 g")
        expect(page.get_by_text("No contact with the laptop").first).to_be_visible(timeout=30_000)
        server.start()
        # By itself, and with the step from before the restart.
        expect(page.get_by_role("button", name=re.compile("^Saved"))).to_be_visible(timeout=60_000)
        assert workbench.part("battery")["mass"]["value"] == "500 g"
        expect(cell(page, 4, "mass")).to_contain_text("500 g")
        taking_back(page).click()
        expect(cell(page, 4, "mass")).to_contain_text("506 g")
        assert workbench.text == before


def test_a_boat_goes_out_as_zip_and_comes_in_again(
    workbench: Workbench, open_page: OpenPage, tmp_path: Path
) -> None:
    page = open_page(workbench.at("boat"))
    with page.expect_download() as saving:
        from_menu(page, "Save a copy as zip")
    packed = tmp_path / saving.value.suggested_filename
    saving.value.save_as(packed)
    assert packed.name == f"{workbench.boat}.zip"
    page.get_by_role("link", name="To the shelf").click()
    with page.expect_file_chooser() as choosing:
        page.get_by_role("button", name="Import a zip").click()
    choosing.value.set_files(packed)
    page.wait_for_url(re.compile(r"#/wren-\d+/boat$"))
    drawn(page)
    name = page.url.split("#/")[1].split("/")[0]
    assert (workbench.server.shelf / name / "boat.toml").read_text("utf-8") == workbench.text


def test_a_part_is_dragged_by_thumb_on_the_plan(workbench: Workbench, open_page: OpenPage) -> None:
    page = open_page(workbench.at("boat"), PHONE)
    drawn(page)
    part_button(page, "battery").tap()
    # She lies bow down, so a thumb that goes straight across would lift the battery too.
    page.get_by_role("radio", name="Along").tap()
    handle = page.get_by_role("button", name=re.compile("^Move battery in the side"))
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    assert box
    # Big enough for a thumb: 44 CSS pixels (WCAG 2.2, 2.5.5 Target Size).
    assert min(box["width"], box["height"]) >= 44
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    thumb = page.context.new_cdp_session(page)
    thumb.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 7):
        point = {"x": x + 4 * step, "y": y}
        thumb.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    thumb.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(page.get_by_label("x from bow")).not_to_have_value("270 mm")
    # Bow right: to the right is towards the bow, from which she is measured; and nothing but x has changed.
    at = workbench.part("battery")["at"]
    assert 150.0 < float(at[0].removesuffix(" mm")) < 269.0
    assert at[1:] == [0, "30 mm"]


def test_two_pages_on_one_boat_stay_in_step(workbench: Workbench, open_page: OpenPage) -> None:
    laptop, phone = open_page(workbench.at("weights")), open_page(workbench.at("weights"))
    type_into(laptop, cell(laptop, 4, "mass"), "18 oz")
    expect(cell(phone, 4, "mass")).to_contain_text("18 oz")
    taking_back(phone).click()
    expect(cell(laptop, 4, "mass")).to_contain_text("506 g")
    # An editor beside the workbench is a third one.
    workbench.file.write_text(workbench.text.replace('value = "506 g"', 'value = "507 g"'), "utf-8")
    for page in (laptop, phone):
        expect(cell(page, 4, "mass")).to_contain_text("507 g")
    assert workbench.part("battery")["mass"]["value"] == "507 g"


@needs_second_loopback
def test_an_unpaired_phone_is_refused_and_a_paired_one_let_in(
    tmp_path: Path, browser: Browser, open_page: OpenPage, pardoned: list[str]
) -> None:
    with serving(demo_shelf(tmp_path / "shelf"), network=True, DABCHICK_CONFIG=str(tmp_path)) as server:
        workbench = Workbench(server, "wren")
        phone = open_page(f"{server.network_address}/#/wren/boat", PHONE)
        expect(phone.get_by_role("heading", name="Pair this device")).to_be_visible()
        expect(phone.get_by_text("battery")).to_have_count(0)
        assert phone.evaluate("fetch('/api/boats/wren').then((answer) => answer.status)") == 401
        pardoned += ["status of 401", "status of 403"]  # asked on purpose, here and with the wrong code

        laptop = open_page(workbench.at("boat"))
        from_menu(laptop, "Pair a phone")
        letters = laptop.get_by_label(re.compile("^Code "))
        code = re.sub(r"\s", "", letters.inner_text())
        expect(laptop.get_by_role("img", name=re.compile("QR code"))).to_be_visible()

        phone.get_by_label("Code").fill("22222222")
        phone.get_by_role("button", name="Let me in").tap()
        expect(phone.get_by_role("alert").first).to_contain_text("tries left")
        phone.get_by_label("Code").fill(code.lower())
        phone.get_by_role("button", name="Let me in").tap()
        phone.get_by_role("link", name=re.compile("Wren")).tap()
        drawn(phone)
        expect(laptop.get_by_text("is let in, and the code is spent")).to_be_visible(timeout=15_000)

        # What it does is seen on the laptop; pairing others is not for it to do.
        assert phone.evaluate("fetch('/api/pairing').then((answer) => answer.status)") == 403
        laptop.get_by_role("region", name="Devices let in").get_by_role("button").first.click()
        expect(laptop.get_by_text("is let in no longer")).to_be_visible()
        phone.reload()
        expect(phone.get_by_role("heading", name="Pair this device")).to_be_visible()
        for page in (phone, laptop):  # before the server ends, which they would complain of
            page.context.close()


def tab_to(page: Page, target: Locator) -> None:
    """Press Tab until the focus is there."""
    expect(target).to_be_visible()
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if target.evaluate("(element) => element === document.activeElement"):
            return
    raise AssertionError(f"{target} is not reached within {MOST_TABS} steps of the Tab key")


def test_by_keys_alone_a_boat_is_opened_a_part_moved_and_the_step_taken_back(
    workbench: Workbench, open_page: OpenPage
) -> None:
    page = open_page(f"{workbench.server.address}/#/")
    tab_to(page, page.locator(f'a[href="#/{workbench.boat}/boat"]'))
    page.keyboard.press("Enter")
    drawn(page)
    tab_to(page, part_button(page, "battery"))
    page.keyboard.press("Enter")
    picture = page.get_by_role("application")
    looked = picture.get_attribute("aria-label")
    tab_to(page, picture)
    for _ in range(3):  # a millimetre each; its rail ends at 274 mm
        page.keyboard.press("ArrowLeft")
    page.keyboard.press("Enter")
    expect(page.get_by_label("x from bow")).to_have_value("273 mm")
    assert workbench.part("battery")["at"] == ["273 mm", 0, "30 mm"]
    expect(picture).not_to_have_attribute("aria-label", looked or "")
    page.keyboard.press("Control+z")
    expect(page.get_by_label("x from bow")).to_have_value("270 mm")
    assert workbench.part("battery")["at"] == ["270 mm", 0, "30 mm"]
    tab_to(page, page.get_by_role("banner").get_by_role("link", name="Weights"))
    page.keyboard.press("Enter")
    expect(page).to_have_url(workbench.at("weights"))
