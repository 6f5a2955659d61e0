"""Everything that can be wrong with a trace is told as advice, with its place, all at once; nothing is mended."""

import copy
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from dabchick.model.advice import Advice
from dabchick.model.trace import TraceDoc
from dabchick.studies import trace
from dabchick.studies.trace import TraceResult
from tests.support.sample_trace import PX_PER_M, sample_trace, section_view

Change = Callable[[dict[str, Any]], Any]


def run(change: Change = lambda plan: None, pictures: Any = None) -> TraceResult:
    plan = copy.deepcopy(sample_trace())
    change(plan)
    return trace.run(TraceDoc.model_validate(plan), pictures, bands=False, axial=60, around=24)


def curve(plan: dict[str, Any], view: int, number: int) -> dict[str, Any]:
    return plan["view"][view]["curve"][number]  # type: ignore[no-any-return]


def only(result: TraceResult) -> Advice:
    assert len(result.warnings) == 1, [str(entry) for entry in result.warnings]
    return result.warnings[0]


def test_sample_has_nothing_amiss() -> None:
    result = run()
    assert result.warnings == ()
    assert result.length_m.value == pytest.approx(0.6, rel=1e-9)
    assert result.height_m.value == pytest.approx(0.0832, abs=2e-4)  # highest point traced is 83 mm


def no_scale(plan: dict[str, Any]) -> None:
    del plan["view"][0]["scale"]


def equal_scale_points(plan: dict[str, Any]) -> None:
    plan["view"][0]["scale"]["to"] = plan["view"][0]["scale"]["from"]


def equal_level_points(plan: dict[str, Any]) -> None:
    plan["view"][1]["level"]["to"] = plan["view"][1]["level"]["from"]


def square_along_level(plan: dict[str, Any]) -> None:
    plan["view"][0]["square"] = copy.deepcopy(plan["view"][0]["level"])


def scale_along_square(plan: dict[str, Any]) -> None:
    view = plan["view"][0]
    view["square"]["length"] = "130 mm"
    view["scale"] |= {"from": view["square"]["from"], "to": view["square"]["to"], "length": "130 mm"}


def bow_elsewhere(plan: dict[str, Any]) -> None:
    plan["view"][0]["bow"] = "left"


def no_top(plan: dict[str, Any]) -> None:
    del plan["view"][1]


def no_lower(plan: dict[str, Any]) -> None:
    del plan["view"][0]["curve"][1]


def backwards(plan: dict[str, Any]) -> None:
    points = curve(plan, 0, 0)["points"]
    points[5][0] = points[4][0] - 30.0


def wholly_backwards(plan: dict[str, Any]) -> None:
    curve(plan, 0, 0)["points"].reverse()


def crossing_edges(plan: dict[str, Any]) -> None:
    curve(plan, 0, 1)["points"][6][1] -= 0.1 * PX_PER_M


def stray_point(plan: dict[str, Any]) -> None:
    points = curve(plan, 0, 2)["points"]
    points[2], points[3] = points[3], points[2]
    points[1], points[2] = points[2], points[1]


def over_middle_line(plan: dict[str, Any]) -> None:
    curve(plan, 1, 0)["points"][6][1] += 0.05 * PX_PER_M


def short_top(plan: dict[str, Any]) -> None:
    plan["view"][1]["scale"]["length"] = "485 mm"


def other_length(plan: dict[str, Any]) -> None:
    plan["length"] = "640 mm"


def two_points(plan: dict[str, Any]) -> None:
    curve(plan, 0, 1)["points"] = curve(plan, 0, 1)["points"][:2]


def unknown_body(plan: dict[str, Any]) -> None:
    curve(plan, 0, 2)["body"] = "mast"
    plan["body"] = []


def same_place(plan: dict[str, Any]) -> None:
    points = curve(plan, 0, 0)["points"]
    points[4] = list(points[3])


def no_such_corner(plan: dict[str, Any]) -> None:
    curve(plan, 0, 0)["corners"] = [3, 40]


def wrong_role(plan: dict[str, Any]) -> None:
    curve(plan, 1, 0)["role"] = "upper"


def section_outside(plan: dict[str, Any]) -> None:
    plan["view"].append(section_view("650 mm", 0.04, 0.0, 0.083))


def section_nowhere(plan: dict[str, Any]) -> None:
    plan["view"].append(section_view("250 mm", 0.04, 0.0, 0.083))
    del plan["view"][2]["at"]


def section_too_wide(plan: dict[str, Any]) -> None:
    plan["view"].append(section_view("300 mm", 0.046, 0.0, 0.083))


def sections_out_of_order(plan: dict[str, Any]) -> None:
    for name, at, half in (("a", "200 mm", 0.04), ("b", "300 mm", 0.04), ("c", "200 mm", 0.04)):
        plan["view"].append(section_view(at, half, 0.0, 0.083, name))


def blended_without_sections(plan: dict[str, Any]) -> None:
    plan["section"] = {"form": "blended"}


def no_exponents(plan: dict[str, Any]) -> None:
    plan["section"] = {"form": "superellipse"}


def sail_without_breadth(plan: dict[str, Any]) -> None:
    del plan["body"][0]["breadth"]


def sail_not_traced(plan: dict[str, Any]) -> None:
    curve(plan, 0, 2)["role"] = "upper"


def sail_inside(plan: dict[str, Any]) -> None:
    curve(plan, 0, 2)["points"] = [[x, y + 0.06 * PX_PER_M] for x, y in curve(plan, 0, 2)["points"]]


def plane_without_anything(plan: dict[str, Any]) -> None:
    plan["body"][0] = {"name": "sail", "kind": "plane"}
    plan["view"][0]["curve"].pop()


def bow_edges_apart(plan: dict[str, Any]) -> None:
    curve(plan, 0, 1)["points"].pop()
    curve(plan, 0, 1)["points"].pop()


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (no_scale, "view[1].scale", "no scale"),
        (equal_scale_points, "view[1].scale", "two points of the scale lie at one place"),
        (equal_level_points, "view[2].level", "two points of the level line lie at one place"),
        (square_along_level, "view[1].square", "nearly along the level line"),
        (scale_along_square, "view[1].square", "scale runs along the square line"),
        (bow_elsewhere, "view[1].level", "said to be on the left"),
        (no_top, "view", "no top view"),
        (no_lower, "view[1]", "lower edge has not been traced"),
        (backwards, "view[1].curve[1].points[6]", "runs backwards at pixel (520, "),
        (wholly_backwards, "view[1].curve[1].points", "runs from bow to stern"),
        (over_middle_line, "view[2].curve[1].points", "crosses the middle line at pixel ("),
        # The sample is 600 mm long; 485 for 500 makes the top view 582.
        (short_top, "view[2].scale", "600.0 mm from the side, 582.0 mm from above"),
        (two_points, "view[1].curve[2].points", "too few points"),
        (unknown_body, "view[1].curve[3].body", 'no [[body]] called "mast"'),
        (same_place, "view[1].curve[1].points[5]", "Two points in a row"),
        (no_such_corner, "view[1].curve[1].corners[2]", "no point 40"),
        (section_outside, "view[3].at", "outside the hull"),
        (section_nowhere, "view[3].at", "Nothing says where"),
        # 300 mm from the bow the hull is 40 mm to each side.
        (section_too_wide, "view[3].curve[1]", "wider than the outline there: 46.0 mm against 40.0 mm"),
        (sections_out_of_order, "view[5].at", "out of order: it stands at 200.0 mm, after one at 300.0 mm"),
        (blended_without_sections, "section.form", "none has been traced"),
        (no_exponents, "section.exponents", "needs its exponents"),
        (sail_without_breadth, "body[1].breadth", "how broad"),
        (sail_not_traced, "body[1]", "neither an outline nor both edges"),
        (sail_inside, "body[1]", "wholly inside the hull"),
        (bow_edges_apart, "view[1].curve[2].points", "end 20.0 mm apart along the hull"),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_each_mistake_is_told_with_its_place(change: Change, key: str, words: str) -> None:
    advice = only(run(change))
    assert advice.severity == "error"
    assert advice.key == key
    assert words in advice.what
    assert advice.todo


def test_edges_that_cross_are_told_in_pixels_and_millimetres() -> None:
    """The lower edge's point 0.4 m from the stern is put 100 mm up, 17 mm over the upper edge's 83 mm.

    The first station at which the edges have crossed lies before it, in the picture at 150 + 2 px a mm.
    """
    advice = only(run(crossing_edges))
    assert "the outline crosses itself" in advice.what
    x_mm = float(advice.what.split(", ")[-1].split(" mm from the stern")[0])
    x_px = float(advice.what.split("pixel (")[1].split(",")[0])
    assert 300.0 < x_mm < 400.0
    assert x_px == pytest.approx(150.0 + 2.0 * x_mm, abs=0.6)


def test_an_outline_that_crosses_itself_is_told_in_pixels_and_millimetres() -> None:
    """Worked by hand: the sides (0.32, 0.07) to (0.41, 0.115) and (0.39, 0.122) to (0.41, 0.07) cross.

    Points 1, 4, 2, 3, 5 of the sample's sail: side 1 along (0.32, 0.07) + s (0.09, 0.045), side 4 along
    (0.39, 0.122) + t (0.02, -0.052): x = 0.32 + 0.09 s = 0.39 + 0.02 t, 0.07 + 0.045 s = 0.122 - 0.052 t, so
    s = (0.07 0.052 + 0.02 0.052) / (0.09 0.052 + 0.02 0.045) = 0.8387 and x = 395.5 mm, 107.7 mm up.
    """
    result = run(stray_point)
    advice = only(result)
    assert advice.key.startswith("view[1].curve[3].points")
    assert "crosses itself at pixel (941, 185)" in advice.what  # 150 + 2 * 395.5, 400 - 2 * 107.7
    assert "395.5 mm along the level line" in advice.what
    assert "107.7 mm off it" in advice.what
    assert result.bodies == ()


def test_a_length_that_the_scales_contradict_is_told_for_both_views() -> None:
    result = run(other_length)
    assert [entry.key for entry in result.faults] == ["view[1].scale", "view[2].scale"]
    assert all("600.0 mm long" in entry.what and "640.0 mm" in entry.what for entry in result.faults)


def test_planes_need_outline_thickness_and_height() -> None:
    result = run(plane_without_anything)
    assert [entry.key for entry in result.faults] == ["body[1]", "body[1].thickness", "body[1].height"]


def test_wrong_role_is_told_and_the_half_breadth_missed() -> None:
    result = run(wrong_role)
    assert [(entry.key, "has not been traced" in entry.what) for entry in result.faults] == [
        ("view[2]", True),
        ("view[2].curve[1].role", False),
    ]
    assert np.isnan(result.volume_m3.value)
    assert result.hull is None


def test_all_mistakes_are_told_at_once() -> None:
    changes = (equal_scale_points, unknown_body, short_top, two_points, section_nowhere, no_exponents)

    def all_of_them(plan: dict[str, Any]) -> None:
        for change in changes:
            change(plan)

    keys = {entry.key for entry in run(all_of_them).faults}
    assert keys >= {
        "view[1].scale",
        "view[1].curve[3].body",
        "view[1].curve[2].points",
        "view[3].at",
        "section.exponents",
    }


def test_points_beside_the_picture_and_a_missing_picture_are_notes_and_change_nothing() -> None:
    """The sample's hull reaches from pixel 150 to 1350: five of its twelve points lie beyond 1000 in both views."""
    beside = run(pictures={"plan.png": (1000, 2000)})
    assert [(entry.key, entry.severity) for entry in beside.warnings] == [
        (f"view[{view}].curve[{number}].points", "warning") for view, number in ((1, 1), (1, 2), (2, 1))
    ]
    assert all(entry.what.startswith("5 points") for entry in beside.warnings)
    missing = run(pictures={})
    assert [entry.key for entry in missing.warnings] == ["view[1].picture", "view[2].picture"]
    assert missing.volume_m3.value == beside.volume_m3.value == run().volume_m3.value


def test_few_points_are_a_note() -> None:
    def few(plan: dict[str, Any]) -> None:
        points = curve(plan, 1, 0)["points"]
        curve(plan, 1, 0)["points"] = points[::2] + points[-1:]

    advice = only(run(few))
    assert (advice.severity, advice.key) == ("warning", "view[2].curve[1].points")
    assert "only 7 points" in advice.what


def test_an_outline_that_names_its_first_point_again_is_the_same_body() -> None:
    def again(plan: dict[str, Any]) -> None:
        points = curve(plan, 0, 2)["points"]
        points.append(list(points[0]))

    assert run(again).bodies[0].volume_m3.value == run().bodies[0].volume_m3.value
