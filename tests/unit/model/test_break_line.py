"""Break line, keep-outs, what moves and halves in the boat file: into the house frame, and each mistake at its key."""

from typing import Any

import pytest

from dabchick.model.advice import Advice
from tests.support.boat_content import built, part
from tests.unit.model.test_mistakes import Change, told
from tests.unit.model.test_mistakes import part as change_part


def line(*points: Any) -> Change:
    value = points[0] if len(points) == 1 else [list(point) for point in points]
    return lambda content: content["hull"].update(break_line=value)


def errors(change: Change) -> list[Advice]:
    return told(change)[0]


def test_height_and_points_in_the_house_frame() -> None:
    hull = {"mesh": "box.stl", "unit": "mm", "waterline": "70 mm", "skin": {"thickness": "2 mm"}}
    bow = {"x": "bow", "z": "waterline"}
    # The box is 600 mm long; from the waterline at 70 mm down 10 mm is 60 mm over the keel.
    level = built(measured_from=bow, hull=hull | {"break_line": "-10 mm"}).break_line_m
    assert level == ((0.0, pytest.approx(0.06)), (pytest.approx(0.6), pytest.approx(0.06)))
    steps = [[0, "-10 mm"], ["200 mm", "-10 mm"], ["200 mm", "5 mm"], ["600 mm", "5 mm"]]
    stepped = built(measured_from=bow, hull=hull | {"break_line": steps}).break_line_m
    wanted = [(0.0, 0.075), (0.4, 0.075), (0.4, 0.06), (0.6, 0.06)]
    assert [value for point in stepped for value in point] == pytest.approx(
        [value for point in wanted for value in point]
    )
    assert built().break_line_m == ()


def test_keep_outs_by_corners_and_round_a_middle() -> None:
    boxes = built(
        keep_out=[
            {"name": "a", "low": ["90 mm", "10 mm", "40 mm"], "high": ["30 mm", "-5 mm", "20 mm"]},
            {"name": "b", "at": ["60 mm", 0, "30 mm"], "size": ["20 mm", "10 mm", "4 mm"]},
        ]
    ).keep_outs
    assert [box.name for box in boxes] == ["a", "b"]
    assert (boxes[0].low_m, boxes[0].high_m) == (
        pytest.approx((0.03, -0.005, 0.02)),
        pytest.approx((0.09, 0.01, 0.04)),
    )
    assert (boxes[1].low_m, boxes[1].high_m) == (
        pytest.approx((0.05, -0.005, 0.028)),
        pytest.approx((0.07, 0.005, 0.032)),
    )


def test_what_moves_and_the_half_it_is_fixed_to() -> None:
    mass = {"value": "10 g", "known": "weighed"}
    items = built(
        part=[
            part(mass=mass, volume="4 ml", moves="5 mm", half="upper"),
            part(name="other", mass=mass, volume="4 ml"),
        ]
    ).items[-2:]
    assert [(item.moves_m, item.half) for item in items] == [(pytest.approx(0.005), "upper"), (0.0, None)]


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (line("130 mm"), "hull.break_line", "above the hull"),
        (line(0), "hull.break_line", "below the hull"),
        (line([0, "60 mm"], ["700 mm", "60 mm"]), "hull.break_line", "runs out of the hull"),
        (line([0, "60 mm"], ["400 mm", "60 mm"], ["200 mm", "60 mm"]), "hull.break_line[3]", "runs back"),
        (line([0, "60 mm"], [0, "70 mm"]), "hull.break_line[2]", "does not get on"),
        (
            line(
                [0, "60 mm"], ["90 mm", "60 mm"], ["90 mm", "70 mm"], ["90 mm", "80 mm"], ["600 mm", "80 mm"]
            ),
            "hull.break_line[4]",
            "two points too many",
        ),
        (line([["0 mm", "60 mm"]]), "hull.break_line", "neither one height nor points"),
        (line([0, "60 mm", 0], ["600 mm", "60 mm", 0]), "hull.break_line", "neither one height nor points"),
        (line("60"), "hull.break_line", "has no unit"),
        (line([0, "60 mm"], ["600 mm", "high"]), "hull.break_line[2][2]", "not a length"),
    ],
)
def test_break_line_that_cannot_be(change: Change, key: str, words: str) -> None:
    found = errors(change)
    assert found
    assert {entry.key for entry in found} == {key}
    assert words in found[0].what
    assert found[0].todo


def test_break_line_may_run_either_way_and_step() -> None:
    steps = ([0, "60 mm"], ["300 mm", "60 mm"], ["300 mm", "75 mm"], ["600 mm", "75 mm"])
    assert errors(line(*steps)) == []
    assert errors(line(*steps[::-1])) == []


def keep_out(*tables: dict[str, Any]) -> Change:
    return lambda content: content.update(keep_out=list(tables))


BOX = {"low": ["60 mm", "-20 mm", "3 mm"], "high": ["90 mm", "20 mm", "12 mm"]}


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (
            keep_out({"name": "flat", **BOX, "high": ["60 mm", "20 mm", "3 mm"]}),
            "keep_out[1].high",
            "along x and z",
        ),
        (keep_out({"name": "half", "low": BOX["low"]}), "keep_out[1]", "is not one box"),
        (
            keep_out({"name": "both", **BOX, "at": BOX["low"], "size": BOX["high"]}),
            "keep_out[1]",
            "not one box",
        ),
        (keep_out({"name": "a", **BOX}, {"name": "a", **BOX}), "keep_out[2].name", "taken already"),
        (
            keep_out({"name": "none", "at": ["60 mm", 0, 0], "size": ["1 mm", 0, "1 mm"]}),
            "keep_out[1].size[2]",
            "is zero",
        ),
        (change_part(1, moves="2 mm"), "part[2].moves", "stands in a dry part"),
        (change_part(1, half="upper"), "part[2].half", "goes with that"),
        (change_part(2, moves="-2 mm"), "part[3].moves", "below zero"),
        (change_part(2, half="top"), "part[3].half", "not one of the words"),
    ],
)
def test_keep_outs_and_movers_that_cannot_be(change: Change, key: str, words: str) -> None:
    found = errors(change)
    assert [entry.key for entry in found] == [key]
    assert words in found[0].what


def test_keep_out_beside_the_hull_is_told_but_taken() -> None:
    found, warnings = told(
        keep_out({"name": "out", "low": ["700 mm", 0, 0], "high": ["800 mm", "9 mm", "9 mm"]})
    )
    assert found == []
    assert [entry.key for entry in warnings] == ["keep_out[1]"]
    assert "outside the hull" in warnings[0].what
