"""The page that traces a plan, in a real browser: from a scan to a hull, by mouse, by thumb and by keys."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import OpenPage, Sight, Workbench
from tests.browser.soundness import assert_sound, saved
from tests.support.plan_sheet import Place, Sheet, traced

SHEET = Sheet()
PHONE = Sight(390, 844, touch=True)


def trace_of(workbench: Workbench) -> Any:
    """The trace as it stands on disk."""
    return tomllib.loads(trace_file(workbench).read_text("utf-8"))


def trace_file(workbench: Workbench) -> Path:
    return workbench.file.parent / f"{workbench.boat}-trace.toml"


def given(workbench: Workbench, count: int = 21) -> None:
    """The boat with the sheet traced already."""
    SHEET.save(workbench.file.parent / "plan.png")
    with workbench.server.client() as client:
        where = f"/api/boats/{workbench.boat}/trace"
        base = client.get(where).json()["base"]
        answer = client.post(where, json={"base": base, "trace": traced(SHEET, "plan.png", count)})
        assert answer.status_code == 200, answer.text


def until(page: Page, found: Any) -> None:
    """Returns once this holds; the file is written a moment after the page shows a step."""
    for _ in range(400):
        if found():
            return
        page.wait_for_timeout(50)
    raise AssertionError("It did not come to hold.")


def board(page: Page) -> Locator:
    shown = page.get_by_role("application", name=re.compile("arrows move the chosen point"))
    expect(shown).to_be_visible(timeout=60_000)
    expect(page.get_by_text("Unpacking the picture")).to_have_count(0, timeout=60_000)
    return shown


def on_screen(page: Page, place: Place) -> tuple[float, float]:
    """Where a place of the picture lies in the window."""
    found = page.locator(".board > svg").evaluate(
        "(svg, [x, y]) => { const p = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM()); return [p.x, p.y]; }",
        list(place),
    )
    return (found[0], found[1])


def scale(page: Page) -> float:
    """Screen pixels for one of the picture's."""
    return float(page.locator(".board > svg").evaluate("svg => svg.getScreenCTM().a"))


def click(page: Page, place: Place) -> None:
    page.mouse.click(*on_screen(page, place))


def drag(page: Page, start: Place, end: Place) -> None:
    page.mouse.move(*on_screen(page, start))
    page.mouse.down()
    page.mouse.move(*on_screen(page, ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)))
    page.mouse.move(*on_screen(page, end))
    page.mouse.up()


def near(found: Any, place: Place, within: float = 2.5) -> bool:
    return abs(found[0] - place[0]) <= within and abs(found[1] - place[1]) <= within


def test_from_a_scan_to_her_hull_and_back(workbench: Workbench, open_page: OpenPage, tmp_path: Path) -> None:
    before = workbench.text
    page = open_page(workbench.at("hull"))
    page.get_by_role("link", name="Trace a plan").click()
    expect(page.get_by_role("heading", name="Trace a plan")).to_be_visible()
    page.locator("input[type=file]").set_input_files(SHEET.save(tmp_path / "plan.png"))
    page.get_by_role("button", name="Begin with this picture").click(timeout=60_000)
    board(page)
    assert (workbench.file.parent / "plan.png").read_bytes() == (tmp_path / "plan.png").read_bytes()

    # The scale: two taps and a length in inches. 300 mm are 11.811 in.
    page.get_by_label("Scale", exact=True).check(force=True)
    for end in SHEET.bar:
        click(page, end)
    page.get_by_label("Its length on the boat").fill("11.811 in")
    page.get_by_label("Its length on the boat").press("Enter")
    until(page, lambda: trace_of(workbench)["view"][0].get("scale", {}).get("length") == "11.811 in")
    side = SHEET.side
    stern, bow = side.at(3.14159265), side.at(0.0)
    page.get_by_label("Level", exact=True).check(force=True)
    for end in (bow, stern):  # the wrong way round: the page turns it to the bow
        click(page, end)
    until(page, lambda: "level" in trace_of(workbench)["view"][0])
    level = trace_of(workbench)["view"][0]["level"]
    assert near(level["from"], stern)
    assert near(level["to"], bow)

    # Edges by taps, from either end, and in any order.
    page.get_by_label("Draw", exact=True).check(force=True)
    upper = side.upper(9)
    for place in reversed(upper):
        click(page, place)
    expect(page.get_by_text("9 points")).to_be_visible()
    page.get_by_role("radio", name=re.compile("^lower edge")).check(force=True)
    lower = side.lower(9)
    for at in (0, 8, 4, 2, 6, 1, 3, 5, 7):
        click(page, lower[at])
    until(page, lambda: len(trace_of(workbench)["view"][0]["curve"][1]["points"]) == 9)
    for curve, wanted in zip(trace_of(workbench)["view"][0]["curve"], (upper, lower), strict=True):
        assert all(near(found, place) for found, place in zip(curve["points"], wanted, strict=True)), curve
    # The lower edge's ends were caught by those of the upper one: the hull closes.
    assert [trace_of(workbench)["view"][0]["curve"][1]["points"][end] for end in (0, -1)] == [
        trace_of(workbench)["view"][0]["curve"][0]["points"][end] for end in (0, -1)
    ]

    # The top view on the same sheet, by the keyboard alone as far as points go.
    page.get_by_role("button", name="+ View").click()
    page.get_by_role("button", name="Add this view").click()
    board(page)
    until(page, lambda: len(trace_of(workbench)["view"]) == 2)
    page.get_by_label("Scale", exact=True).check(force=True)
    for end in SHEET.bar:
        click(page, end)
    page.get_by_label("Its length on the boat").fill("300 mm")
    page.get_by_label("Its length on the boat").press("Enter")
    page.get_by_label("Middle", exact=True).check(force=True)
    for end in (SHEET.top.at(3.14159265), SHEET.top.at(0.0)):
        click(page, end)
    page.get_by_label("Draw", exact=True).check(force=True)
    for place in SHEET.top.upper(9):
        click(page, place)

    outcome = page.get_by_role("region", name="What comes of it")
    volume = outcome.locator("div", has_text=re.compile(r"^\s*Volume of the form")).last
    expect(volume).to_contain_text("±", timeout=60_000)
    # 4/3 pi a b c = 5.655 litres; nine points an edge, set to a screen pixel, hold it to some percent.
    found = re.search(r"([\d.]+)\s*ml", volume.inner_text())
    assert found is not None
    assert float(found[1]) == pytest.approx(SHEET.volume_m3 * 1e6, rel=0.05)
    page.get_by_role("button", name="Use as her hull").click()
    saved(page, workbench, f'trace = "{workbench.boat}-trace.toml"')
    expect(outcome).to_contain_text("She uses this trace")
    # Two undos stand on this page: that of the boat, in the bar above, takes the hull back.
    page.get_by_role("button", name=re.compile("^Take back: Take .* as the hull")).click()
    saved(page, workbench, 'stations = "wren-stations.csv"')
    assert workbench.text == before
    assert len(trace_of(workbench)["view"]) == 2


def test_points_are_dragged_nudged_turned_into_corners_removed_and_taken_back(
    workbench: Workbench, open_page: OpenPage
) -> None:
    given(workbench)
    first = trace_file(workbench).read_text("utf-8")
    page = open_page(workbench.at("trace"))
    plan = board(page)
    start = SHEET.side.upper(21)[10]
    drag(page, start, (start[0] + 20, start[1] - 30))

    def point(number: int = 10) -> Any:
        return trace_of(workbench)["view"][0]["curve"][0]["points"][number]

    until(page, lambda: near(point(), (start[0] + 20, start[1] - 30)))
    dragged = point()
    expect(page.get_by_text("Point 11 of 21, upper edge")).to_be_visible()
    plan.focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp"):
        page.keyboard.press(key)
    # A pixel of the picture each, ten with Shift; the arrows in a row are one step.
    until(page, lambda: point() == pytest.approx([dragged[0] + 2, dragged[1] - 10]))
    page.keyboard.press("c")
    until(page, lambda: trace_of(workbench)["view"][0]["curve"][0].get("corners") == [10])
    page.keyboard.press("]")
    page.keyboard.press("Delete")
    until(page, lambda: len(trace_of(workbench)["view"][0]["curve"][0]["points"]) == 20)
    for _ in range(4):
        page.keyboard.press("Control+z")
    until(page, lambda: trace_file(workbench).read_text("utf-8") == first)
    expect(page.get_by_role("button", name="No step of the trace to take back")).to_be_disabled()
    page.keyboard.press("Control+Shift+z")
    until(page, lambda: point() == dragged)


def test_a_point_is_added_on_the_curve_where_it_is_tapped(workbench: Workbench, open_page: OpenPage) -> None:
    given(workbench, 7)
    page = open_page(workbench.at("trace"))
    board(page)
    # Half way between the third and the fourth point, on the drawn curve.
    place = SHEET.side.at(3.14159265 * 7 / 12)
    click(page, place)
    until(page, lambda: len(trace_of(workbench)["view"][0]["curve"][0]["points"]) == 8)
    assert near(trace_of(workbench)["view"][0]["curve"][0]["points"][3], place, 6.0)
    # A tap on the other edge takes that one in hand.
    click(page, SHEET.side.at(-3.14159265 / 2))
    expect(page.get_by_role("radio", name=re.compile("^lower edge"))).to_be_checked()


def test_by_thumb(workbench: Workbench, open_page: OpenPage) -> None:
    given(workbench, 7)
    page = open_page(workbench.at("trace"), PHONE)
    board(page)
    hand = page.context.new_cdp_session(page)

    def touch(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(places)]
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    # Two fingers bring it closer, about their middle.
    x, y = on_screen(page, SHEET.side.upper(7)[3])
    whole = scale(page)
    touch("touchStart", (x - 30, y), (x + 30, y))
    touch("touchMove", (x - 60, y), (x + 60, y))
    touch("touchMove", (x - 90, y), (x + 90, y))
    touch("touchEnd")
    until(page, lambda: scale(page) == pytest.approx(3 * whole))
    assert on_screen(page, SHEET.side.upper(7)[3]) == pytest.approx((x, y), abs=1.0)
    start = SHEET.side.upper(7)[3]
    # A thumb takes the point though it comes down beside it; the point does not jump under it.
    x, y = on_screen(page, start)
    touch("touchStart", (x + 15, y + 12))
    touch("touchMove", (x + 15, y + 2))
    touch("touchMove", (x + 15, y - 28))
    expect(page.locator(".loupe")).to_be_visible()
    touch("touchEnd")
    expect(page.locator(".loupe")).to_have_count(0)

    def point() -> Any:
        return trace_of(workbench)["view"][0]["curve"][0]["points"][3]

    def rests() -> bool:
        """Written, and not one of the steps on the way there."""
        found = point()
        page.wait_for_timeout(500)
        return near(found, (start[0], start[1] - 40 / scale(page)), 3.0) and point() == found

    until(page, rests)
    before_nudge = point()[1]
    page.get_by_role("button", name="Up", exact=True).tap()
    until(page, lambda: point()[1] == pytest.approx(before_nudge - 1.0))
    # Neither the look at the plan nor the page itself has moved with the saved steps.
    assert scale(page) == pytest.approx(3 * whole)
    assert page.locator("main").evaluate("main => main.scrollTop") == 0


def test_two_windows_lose_nothing(workbench: Workbench, open_page: OpenPage, pardoned: list[str]) -> None:
    pardoned.append("409")  # the refusal that this is about
    given(workbench)
    one, other = open_page(workbench.at("trace")), open_page(workbench.at("trace"))
    board(one)
    board(other)
    start = SHEET.side.upper(21)[10]
    drag(one, start, (start[0], start[1] - 40))
    until(
        one, lambda: near(trace_of(workbench)["view"][0]["curve"][0]["points"][10], (start[0], start[1] - 40))
    )
    theirs = trace_file(workbench).read_text("utf-8")
    drag(other, start, (start[0], start[1] + 25))
    dialog = other.get_by_role("dialog", name="Changed in another window")
    expect(dialog).to_be_visible()
    assert trace_file(workbench).read_text("utf-8") == theirs
    dialog.get_by_role("button", name="Take the other one").click()
    # One step back is what was made here.
    other.keyboard.press("Control+z")
    until(
        other,
        lambda: near(trace_of(workbench)["view"][0]["curve"][0]["points"][10], (start[0], start[1] + 25)),
    )


def test_by_keyboard_alone(workbench: Workbench, open_page: OpenPage) -> None:
    given(workbench, 7)
    page = open_page(workbench.at("trace"))
    board(page)
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.getAttribute('role')") == "application":
            break
    else:
        raise AssertionError("The board is not reached by the Tab key.")
    page.keyboard.press("d")
    page.keyboard.press("ArrowLeft")  # the cross, from the middle of the board
    page.keyboard.press("Enter")
    until(page, lambda: len(trace_of(workbench)["view"][0]["curve"][0]["points"]) == 8)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    until(page, lambda: len(trace_of(workbench)["view"][0]["curve"][0]["points"]) == 7)


@pytest.mark.parametrize(
    "sight", [Sight(), Sight(1440, 900, "dark"), PHONE, Sight(390, 844, "dark", touch=True)]
)
def test_nothing_serious_and_nothing_cut_off(workbench: Workbench, open_page: OpenPage, sight: Sight) -> None:
    page = open_page(workbench.at("trace"), sight)
    expect(page.get_by_role("button", name="Begin with this picture")).to_be_visible()
    assert_sound(page, sight)
    given(workbench)
    page.reload()
    board(page)
    expect(page.get_by_text("Volume of the form")).to_be_visible(timeout=60_000)
    assert_sound(page, sight)
    page.get_by_role("button", name="Add it").click()
    page.get_by_role("button", name="+ View").click()
    expect(page.get_by_role("button", name="Add this view")).to_be_visible()
    assert_sound(page, sight)
