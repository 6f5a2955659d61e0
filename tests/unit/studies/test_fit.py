"""Fit: pairs, clearances and rooms against what follows from the sizes given."""

import math
from dataclasses import replace

import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Rail, Vessel
from dabchick.physics import shapes
from dabchick.studies import fit
from dabchick.studies.fit import FitResult, Pair
from dabchick.studies.fit_bodies import Turn
from tests.support.fitting_boats import box_hull, hatched_box, item, skinned, tank, vessel

# The hull is a box of 1000 x 120 x 150 mm from x = 0 and z = 0; a skin of 3 mm leaves 994 x 114 x 144 mm.


def boat(*parts: object, tanks: tuple[object, ...] = ()) -> Vessel:
    inner, skin = skinned(box_hull(), 0.003)
    return vessel(box_hull(), [skin, *parts], list(tanks), inside=inner)


def box(name: str, x: float, z: float, size: tuple[float, float, float] = (0.1, 0.02, 0.02), y: float = 0.0):
    return item(name, "solid", shapes.box(*size).moved((x, y, z)))


def pair(result: FitResult, first: str, second: str) -> Pair:
    return next(one for one in result.pairs if {one.first, one.second} == {first, second})


def test_clearance_to_the_inner_face_and_where() -> None:
    # A box of 20 mm with its middle 14 mm over the keel: its underside is 4 mm up, 1 mm over the inner face.
    result = fit.run(boat(box("bar", 0.5, 0.014)))
    found = pair(result, "bar", "hull")
    assert found.kind == "close"
    assert found.held
    assert found.clearance_m == pytest.approx(0.001, abs=1e-12)
    assert found.first_point_m[2] == pytest.approx(0.004, abs=1e-12)
    assert found.second_point_m[2] == pytest.approx(0.003, abs=1e-12)
    assert 0.45 - 1e-9 <= found.first_point_m[0] <= 0.55 + 1e-9


def test_two_boxes_too_near_and_two_far_enough() -> None:
    # Gaps of 1.5 mm and 3 mm between boxes in a row.
    row = boat(box("a", 0.2, 0.07), box("b", 0.3015, 0.07), box("c", 0.4045, 0.07))
    result = fit.run(row)
    assert [(one.first, one.second, one.kind) for one in result.pairs] == [("a", "b", "close")]
    assert result.pairs[0].clearance_m == pytest.approx(0.0015, abs=1e-12)
    assert result.next_clearance_m == pytest.approx(0.003, abs=1e-12)
    assert result.next_pair == ("b", "c")
    assert result.tried_count == 3 + 3
    assert (result.overlap_count, result.touch_count, result.close_count) == (0, 0, 1)


def test_the_worst_comes_first() -> None:
    # Shared room of 10 x 20 x 20 mm = 4 ml, of 5 x 20 x 20 mm = 2 ml, a touch, and 1 mm.
    parts = [
        *(box("a", 0.1, 0.07), box("b", 0.195, 0.07)),
        *(box("c", 0.4, 0.07), box("d", 0.49, 0.07)),
        *(box("e", 0.65, 0.07), box("f", 0.75, 0.07)),
        box("g", 0.851, 0.07),
    ]
    result = fit.run(boat(*parts))
    assert [(one.first, one.second, one.kind) for one in result.pairs] == [
        ("c", "d", "overlap"),
        ("a", "b", "overlap"),
        ("e", "f", "touch"),
        ("f", "g", "close"),
    ]
    assert result.pairs[0].overlap_m3 == pytest.approx(4e-6, rel=1e-9)
    assert result.pairs[0].first_point_m == pytest.approx((0.445, 0.0, 0.07), abs=1e-9)
    assert result.pairs[1].overlap_m3 == pytest.approx(2e-6, rel=1e-9)


def test_a_part_wholly_within_another_shares_all_of_itself() -> None:
    result = fit.run(
        boat(box("block", 0.5, 0.07, (0.2, 0.1, 0.1)), box("crumb", 0.5, 0.07, (0.01, 0.01, 0.01)))
    )
    assert pair(result, "block", "crumb").overlap_m3 == pytest.approx(1e-6, rel=1e-9)


def test_a_part_through_the_skin_is_measured_outside_the_inner_face() -> None:
    # 20 mm high, its middle at the inner face of the keel: 10 mm stick out, 100 x 20 x 10 mm = 20 ml.
    result = fit.run(boat(box("bar", 0.5, 0.003)))
    found = pair(result, "bar", "hull")
    assert found.kind == "overlap"
    assert found.overlap_m3 == pytest.approx(20e-6, rel=1e-9)


def test_a_part_wholly_outside_the_hull_is_found() -> None:
    result = fit.run(boat(box("lost", 0.5, -0.2)))
    assert pair(result, "lost", "hull").overlap_m3 == pytest.approx(40e-6, rel=1e-9)


def test_what_belongs_outside_is_not_held_against_the_hull() -> None:
    sail = replace(box("sail", 0.5, 0.16), outside=True)
    result = fit.run(boat(sail))
    assert result.pairs == ()
    assert any("sail" in text and "outside" in text for text in result.assumptions)


def test_a_hull_in_one_shell_is_measured_to_its_own_inner_side() -> None:
    solid = hatched_box()
    skin = item("skin", "skin", solid)
    one = vessel(solid, [skin, box("bar", 0.2, 0.014), box("deep", 0.7, 0.011)], inside=solid)
    result = fit.run(one)
    assert pair(result, "bar", "hull").clearance_m == pytest.approx(0.001, abs=1e-9)
    # Underside at 1 mm: 2 mm of 100 x 20 mm in the wall.
    assert pair(result, "deep", "hull").overlap_m3 == pytest.approx(4e-6, rel=1e-6)


def held(*, wall_m: float = 0.0, x: float = 0.5, z: float = 0.07, **more: object) -> FitResult:
    # A dry box of 300 x 80 x 80 mm about (0.5, 0, 0.07), with a battery of 100 x 20 x 20 mm in it.
    room = item("tube", "dry", shapes.box(0.3, 0.08, 0.08).moved((0.5, 0.0, 0.07)))
    cell = item("cell", "inside", shapes.box(0.1, 0.02, 0.02).moved((x, 0.0, z)), inside="tube")
    return fit.run(boat(room, cell), wall_m=wall_m, **more)


def test_contents_against_what_holds_them_less_its_wall() -> None:
    # The cell's top at 108 mm is 2 mm under the outside at 110 mm.
    assert pair(held(z=0.0985), "cell", "tube").clearance_m == pytest.approx(0.0015, abs=1e-12)
    assert held(z=0.098).pairs == ()
    found = pair(held(z=0.098, wall_m=0.003), "cell", "tube")
    assert found.kind == "overlap"
    assert found.clearance_m == pytest.approx(-0.001, abs=1e-12)
    (contents,) = held(z=0.098).contents
    assert (contents.holder, contents.nearest) == ("tube", "cell")
    assert contents.distance_m == pytest.approx(0.002, abs=1e-12)


def test_contents_that_stand_out_of_what_holds_them() -> None:
    # The top stands 5 mm out: 100 x 20 x 5 mm = 10 ml.
    found = pair(held(z=0.105), "cell", "tube")
    assert found.overlap_m3 == pytest.approx(10e-6, rel=1e-9)


def test_contents_are_not_held_against_the_flooded_space() -> None:
    result = held()
    assert result.tried_count == 2  # tube in hull, cell in tube


def test_a_tank_is_a_thing_like_others() -> None:
    result = fit.run(
        boat(
            box("bar", 0.5, 0.07), tanks=(tank("main", shapes.box(0.1, 0.02, 0.02).moved((0.601, 0, 0.07))),)
        )
    )
    assert pair(result, "bar", "main").clearance_m == pytest.approx(0.001, abs=1e-12)


def test_a_part_on_a_rail_is_tried_all_along_it() -> None:
    # It may go 60 mm forward; a post stands 40 mm before its nose and 1 mm beside its way.
    slider = replace(box("slider", 0.3, 0.07), rail=Rail((1.0, 0.0, 0.0), 0.0, 0.06))
    post = box("post", 0.4, 0.07, (0.01, 0.01, 0.1), y=0.016)
    found = pair(fit.run(boat(post, slider)), "slider", "post")
    assert found.first == "slider"
    assert found.clearance_m == pytest.approx(0.001, abs=1e-12)
    assert 0.045 - 1e-9 <= found.moved_m <= 0.06 + 1e-9


def test_a_thin_thing_in_the_middle_of_a_rail_is_not_missed() -> None:
    # A pin of 2 mm across the way, clear of both ends: 2 x 20 x 2 mm = 80 mm3 at most.
    slider = replace(box("slider", 0.2, 0.07, (0.01, 0.02, 0.02)), rail=Rail((1.0, 0.0, 0.0), 0.0, 0.4))
    pin = box("pin", 0.42, 0.07, (0.002, 0.1, 0.002))
    found = pair(fit.run(boat(slider, pin)), "slider", "pin")
    assert found.kind == "overlap"
    assert 0.2 < found.moved_m < 0.24
    assert found.overlap_m3 == pytest.approx(80e-9, rel=1e-6)


def test_a_plane_that_turns_reaches_its_own_half_diagonal() -> None:
    # A plate of 60 x 4 mm turns 90 deg about y: its corner reaches sqrt(30^2 + 2^2) = 30.07 mm up, a bar is 32 mm up.
    plate = box("plane", 0.5, 0.06, (0.06, 0.05, 0.004))
    bar = box("bar", 0.5, 0.102, (0.1, 0.02, 0.02))
    still = fit.run(boat(plate, bar))
    assert still.pairs == ()
    turned = fit.run(boat(plate, bar), turns=[Turn("plane", "y", 90.0)])
    found = pair(turned, "plane", "bar")
    # Tried every 2.5 deg; what a corner may reach between, R (1 - cos 1.25 deg), is taken off.
    reach = math.hypot(0.03, 0.002, 0.025)
    least = 0.032 - math.hypot(0.03, 0.002)
    assert least - reach * (1.0 - math.cos(math.radians(1.25))) - 1e-9 <= found.clearance_m <= least
    assert any("plane turns 90 deg" in text for text in turned.assumptions)


def test_turns_of_nothing_are_refused() -> None:
    with pytest.raises(BoatError, match="no part or tank 'rudder'"):
        fit.run(boat(box("bar", 0.5, 0.07)), turns=[Turn("rudder", "z", 30.0)])
    with pytest.raises(BoatError, match="cannot turn by 0 deg"):
        fit.run(boat(box("bar", 0.5, 0.07)), turns=[Turn("bar", "z", 0.0)])


@pytest.mark.parametrize("wrong", [-0.001, math.nan, math.inf])
def test_a_clearance_below_nothing_is_refused(wrong: float) -> None:
    with pytest.raises(BoatError, match="0 or more"):
        fit.run(boat(), clearance_m=wrong)


def test_an_empty_boat_fits() -> None:
    result = fit.run(boat())
    assert (result.tried_count, result.pairs) == (0, ())
    assert math.isnan(result.next_clearance_m)


def test_points_and_parts_without_mass_are_named() -> None:
    lone = item("wiring", "inside", None, at=(0.5, 0.0, 0.07))
    bare = replace(boat(lone), unweighed=("camera",))
    result = fit.run(bare)
    assert any("wiring" in text for text in result.assumptions)
    assert any("Not tried for fit" in one.what and "camera" in one.what for one in result.warnings)


def test_progress_comes_to_its_end() -> None:
    told: list[float] = []
    fit.run(boat(box("a", 0.2, 0.07), box("b", 0.4, 0.07)), tell=lambda text, share: told.append(share))
    assert told == sorted(told)
    assert told[-1] == 1.0
