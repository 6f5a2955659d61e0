"""The hull in two halves: masses of shells in closed form, what goes with which half, what crosses, what comes out."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Datum, Item, Vessel
from dabchick.physics import shapes
from dabchick.studies import split
from dabchick.studies.split import HalfResult, SplitResult
from tests.support.fitting_boats import (
    HEIGHT_M,
    LENGTH_M,
    WIDTH_M,
    box_hull,
    item,
    mirrored,
    skinned,
    tank,
    vessel,
)

THICKNESS_M, DENSITY = 0.002, 1450.0


def shell(*items: Item, line: tuple[tuple[float, float], ...] = ()) -> Vessel:
    inner, skin = skinned(box_hull(), THICKNESS_M)
    return replace(vessel(box_hull(), [skin, *items], inside=inner), break_line_m=line)


def level(height_m: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, height_m), (LENGTH_M, height_m))


def skin_above(height_m: float, aft_m: float = 0.0, fore_m: float = LENGTH_M) -> float:
    """Closed form [m3]: material of the box's shell above a height and between two stations."""
    t = THICKNESS_M
    outer = (fore_m - aft_m) * WIDTH_M * (HEIGHT_M - height_m)
    ends = (max(aft_m, t), min(fore_m, LENGTH_M - t))
    inner = (ends[1] - ends[0]) * (WIDTH_M - 2 * t) * (HEIGHT_M - t - height_m)
    return outer - inner


def both(result: SplitResult) -> tuple[HalfResult, HalfResult]:
    return result.upper, result.lower


def test_level_line_through_a_box_shell() -> None:
    result = split.run(shell(), line_m=level(0.06))
    whole = LENGTH_M * WIDTH_M * HEIGHT_M - (LENGTH_M - 0.004) * (WIDTH_M - 0.004) * (HEIGHT_M - 0.004)
    assert result.upper.skin_volume_m3 == pytest.approx(skin_above(0.06), rel=1e-9)
    assert result.lower.skin_volume_m3 == pytest.approx(whole - skin_above(0.06), rel=1e-9)
    assert result.upper.mass_kg.value == pytest.approx(DENSITY * skin_above(0.06), rel=1e-9)
    # Centre by moments: the outer block less the inner one.
    outer, inner = WIDTH_M * 0.09 * LENGTH_M, (WIDTH_M - 0.004) * 0.088 * (LENGTH_M - 0.004)
    height = (outer * 0.105 - inner * 0.104) / (outer - inner)
    assert result.upper.centre_m == pytest.approx((0.5, 0.0, height), abs=1e-9)
    # The spread goes with the share: one standard deviation of the skin is 5 % of it here.
    assert result.upper.mass_kg.spread == pytest.approx(0.05 * result.upper.mass_kg.value, rel=1e-9)


def test_stepped_line_through_a_box_shell() -> None:
    result = split.run(shell(), line_m=((0.0, 0.06), (0.3, 0.06), (0.3, 0.075), (1.0, 0.075)))
    aft, fore = skin_above(0.06, 0.0, 0.3), skin_above(0.075, 0.3, 1.0)
    assert result.upper.skin_volume_m3 == pytest.approx(aft + fore, rel=1e-9)


def test_hatch_leaves_both_ends_whole() -> None:
    result = split.run(shell(), line_m=((0.25, 0.1), (0.7, 0.1)))
    assert result.upper.skin_volume_m3 == pytest.approx(skin_above(0.1, 0.25, 0.7), rel=1e-9)
    assert [(end.aft_m, end.fore_m) for end in result.left_whole] == [(0.0, 0.25), (0.7, 1.0)]
    # Each end: its end plate and a sleeve round it.
    for end, length in zip(result.left_whole, (0.25, 0.3), strict=True):
        ring = WIDTH_M * HEIGHT_M - (WIDTH_M - 0.004) * (HEIGHT_M - 0.004)
        plate = (WIDTH_M - 0.004) * (HEIGHT_M - 0.004) * THICKNESS_M
        assert end.skin_mass_kg == pytest.approx(DENSITY * (ring * length + plate), rel=1e-9)
    assert sum("whole" in warning.what for warning in result.warnings) == 2


def test_round_shell_on_its_axis_and_off_it() -> None:
    """Closed form: a tube of 240 sides, above a height h: R^2 (acos(h/R) - (h/R) sqrt(1 - (h/R)^2)) for each face."""
    ((vertices, faces, _),) = shapes.cylinder(0.5, 0.1).moved((0.25, 0.0, 0.05)).meshes(240)
    hull = shapes.mesh(vertices, faces)
    inner, skin = skinned(hull, 0.002)
    boat = replace(vessel(hull, [skin], inside=inner, waterline_m=0.05), length_m=0.5)

    def segment(radius: float, height: float) -> float:
        share = height / radius
        return radius**2 * (math.acos(share) - share * math.sqrt(1 - share**2))

    for height in (0.0, 0.02, 0.03):
        result = split.run(boat, line_m=((0.0, 0.05 + height), (0.5, 0.05 + height)))
        wanted = segment(0.05, height) * 0.5 - segment(0.048, height) * 0.496
        assert result.upper.skin_volume_m3 == pytest.approx(wanted, rel=5e-4)


def block(name: str, z: float, x: float = 0.5, **changes: object) -> Item:
    made = item(name, "solid", shapes.box(0.1, 0.04, 0.02).moved((x, 0.0, z)), 0.2)
    return replace(made, **changes)  # type: ignore[arg-type]


def test_parts_go_with_their_middle_or_as_the_builder_says() -> None:
    cylinder = item("cylinder", "dry", shapes.cylinder(0.4, 0.06).moved((0.5, 0.0, 0.05)), 1.0)
    aloft = item(
        "valve", "inside", shapes.box(0.02, 0.02, 0.01).moved((0.5, 0.0, 0.075)), 0.1, inside="cylinder"
    )
    boat = shell(cylinder, aloft, block("deck", 0.12), block("keel", 0.02), block("hung", 0.03, half="upper"))
    result = split.run(boat, line_m=level(0.07))
    # What is in the cylinder goes with it, though it lies above the line itself.
    assert result.upper.parts == ("deck", "hung")
    assert result.lower.parts == ("cylinder", "valve", "keel")
    skin = [half.skin_mass_kg for half in both(result)]
    assert [
        half.mass_kg.value - mass for half, mass in zip(both(result), skin, strict=True)
    ] == pytest.approx([0.4, 1.3])
    assert any("hung as the boat file says" in text for text in result.assumptions)


def test_centre_of_a_half_by_moments() -> None:
    result = split.run(shell(block("deck", 0.12, x=0.8)), line_m=level(0.1))
    skin = DENSITY * skin_above(0.1)
    assert result.upper.centre_m[0] == pytest.approx((skin * 0.5 + 0.2 * 0.8) / (skin + 0.2), rel=1e-9)


def test_what_crosses_and_by_how_much() -> None:
    cylinder = item("cylinder", "dry", shapes.cylinder(0.4, 0.06).moved((0.5, 0.0, 0.05)), 1.0)
    standing = tank("standing", shapes.box(0.05, 0.05, 0.06).moved((0.9, 0.0, 0.08)))
    boat = replace(shell(cylinder, block("deck", 0.12), block("on it", 0.08)), tanks=(standing,))
    result = split.run(boat, line_m=level(0.07))
    found = {entry.name: (entry.half, entry.above_m, entry.below_m) for entry in result.crossings}
    # The cylinder reaches from 20 to 80 mm, the tank from 50 to 110 mm; "on it" stands on the line.
    assert set(found) == {"cylinder", "standing"}
    assert found["cylinder"] == ("lower", pytest.approx(0.01, abs=1e-5), pytest.approx(0.05, abs=1e-5))
    assert found["standing"] == ("upper", pytest.approx(0.04), pytest.approx(0.02))
    assert sum("reaches" in warning.what for warning in result.warnings) == 2


def test_a_sloping_line_is_crossed_where_it_is_lowest() -> None:
    # From 40 mm at the stern to 80 mm at the bow the line passes the block's ends at 58 and 62 mm.
    result = split.run(shell(block("block", 0.06)), line_m=((0.0, 0.04), (1.0, 0.08)))
    (entry,) = result.crossings
    assert entry.above_m == pytest.approx(0.07 - 0.058)
    assert entry.below_m == pytest.approx(0.062 - 0.05)


# --- Lifting out.


def long_box(width: float, z: float = 0.05) -> Item:
    return item("cylinder", "dry", shapes.box(0.4, width, 0.04).moved((0.5, 0.0, z)), 1.0)


@pytest.mark.parametrize("width", [0.08, 0.116])
def test_box_comes_out_of_a_box_with_what_is_left_on_both_sides(width: float) -> None:
    out = split.run(shell(long_box(width)), line_m=level(0.1)).lift_out
    assert out is not None
    assert out.fits
    assert (out.name, out.half) == ("cylinder", "lower")
    # The inner face is 116 mm wide all the way up, and 996 mm long.
    assert out.opening_width_m == pytest.approx(0.116, abs=1e-9)
    assert out.spare_port_m == pytest.approx((0.116 - width) / 2, abs=1e-9)
    assert out.spare_starboard_m == pytest.approx(out.spare_port_m, abs=1e-9)
    assert (out.length_m, out.opening_length_m) == pytest.approx((0.4, 0.996))
    assert out.under_whole_m == 0.0


def wedge(top_m: float, bottom_m: float) -> Vessel:
    """A hull 800 mm long whose sides lean in from `bottom_m` wide to `top_m` at 120 mm; without a skin's thickness."""
    outline = [(-bottom_m / 2, 0.0), (bottom_m / 2, 0.0), (top_m / 2, 0.12), (-top_m / 2, 0.12)]
    body = shapes.prism(outline, 0.8)
    hull = body.moved(-body.bounds()[0] * np.array([1.0, 0.0, 1.0]))
    return vessel(hull, [item("skin", "skin", hull, 0.5)], waterline_m=0.09)


def test_sides_that_lean_in_hold_the_thing_at_the_line_and_not_where_it_lies() -> None:
    boat = wedge(0.06, 0.12)
    body = item("cylinder", "dry", shapes.box(0.4, 0.08, 0.03).moved((0.4, 0.0, 0.02)), 1.0)
    boat = replace(boat, items=(*boat.items, body))
    for height in (0.06, 0.1):
        out = split.run(boat, line_m=((0.0, height), (0.8, height))).lift_out
        assert out is not None
        # At height h the hull is 120 - 60 h / 120 mm wide; sections are looked at up to half a step under the line.
        opening = 0.12 - 0.5 * height
        assert out.opening_width_m == pytest.approx(opening, abs=5e-4)
        assert min(out.spare_port_m, out.spare_starboard_m) == pytest.approx((opening - 0.08) / 2, abs=3e-4)
        assert out.fits == (opening >= 0.08)
    assert out.spare_port_m < 0.0


def test_thing_off_the_middle_has_less_room_on_its_side() -> None:
    body = item("cylinder", "dry", shapes.box(0.4, 0.06, 0.04).moved((0.5, 0.02, 0.05)), 1.0)
    out = split.run(shell(body), line_m=level(0.1)).lift_out
    assert out is not None
    assert (out.spare_port_m, out.spare_starboard_m) == pytest.approx((0.008, 0.048), abs=1e-9)


def test_upper_half_is_left_downwards() -> None:
    out = split.run(shell(long_box(0.08, z=0.1)), line_m=level(0.05)).lift_out
    assert out is not None
    assert (out.half, out.fits) == ("upper", True)
    assert out.spare_port_m == pytest.approx(0.018, abs=1e-9)


def test_what_stands_over_the_thing_in_its_half_comes_first() -> None:
    boat = shell(long_box(0.08), block("servo", 0.085), block("deck", 0.14), block("keel", 0.01))
    out = split.run(boat, line_m=level(0.12)).lift_out
    assert out is not None
    assert out.in_the_way == ("servo",)


def test_hatch_shorter_than_the_thing_does_not_let_it_out() -> None:
    result = split.run(shell(long_box(0.08)), line_m=((0.4, 0.1), (0.8, 0.1)))
    assert result.lift_out is not None
    assert not result.lift_out.fits
    # The thing reaches from 300 to 700 mm.
    assert result.lift_out.under_whole_m == pytest.approx(0.1)
    assert any("cannot be lifted" in warning.what for warning in result.warnings)


def test_without_dry_parts_the_longest_other_thing_is_asked_about() -> None:
    out = split.run(shell(block("short", 0.05)), line_m=level(0.1)).lift_out
    assert out is not None
    assert out.name == "short"
    assert split.run(shell(), line_m=level(0.1)).lift_out is None


# --- Which line.


def test_file_then_waterline() -> None:
    named = split.run(shell(line=level(0.1)))
    assert named.from_file
    assert named.line_m == level(0.1)
    bare = split.run(shell())
    assert not bare.from_file
    assert bare.line_m == level(bare.line_m[0][1]) == level(0.09)
    assert any("parted at her waterline" in text for text in bare.assumptions)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (level(0.2), "above the hull"),
        (level(-0.01), "below the hull"),
        (((-0.1, 0.05), (1.0, 0.05)), "runs out of the hull"),
        (((0.0, 0.05), (1.2, 0.05)), "runs out of the hull"),
    ],
)
def test_line_outside_the_hull_is_refused(line: tuple[tuple[float, float], ...], words: str) -> None:
    with pytest.raises(BoatError) as refusal:
        split.run(shell(), line_m=line)
    (advice, *_) = refusal.value.advice
    assert words in advice.what
    assert advice.key == "hull.break_line"
    assert advice.given
    assert advice.allowed


def test_line_that_misses_the_hull_within_its_box_is_refused() -> None:
    # A short line over the keel's round end: nothing of a sphere lies above 90 % of its height near its ends.
    hull = shapes.sphere(0.2).moved((0.1, 0.0, 0.1))
    ((vertices, faces, _),) = hull.meshes()
    ball = shapes.mesh(vertices, faces)
    boat = vessel(ball, [item("skin", "skin", ball, 1.0)], waterline_m=0.1)
    with pytest.raises(BoatError, match="Nothing of the hull lies above"):
        split.run(boat, line_m=((0.0, 0.18), (0.02, 0.18)))


def test_another_ruler_changes_nothing() -> None:
    boat = shell(long_box(0.08), block("deck", 0.14), line=level(0.1))
    here = split.run(boat)
    there = split.run(replace(boat, datum=Datum("bow", "waterline", LENGTH_M, 0.09)))
    assert there.upper == here.upper
    assert there.lower == here.lower
    assert there.lift_out == here.lift_out
    assert [entry.above_m for entry in there.crossings] == [entry.above_m for entry in here.crossings]


def test_mirrored_boat_has_mirrored_halves() -> None:
    body = item("cylinder", "dry", shapes.box(0.4, 0.06, 0.04).moved((0.5, 0.02, 0.05)), 1.0)
    boat = shell(body, block("deck", 0.14), line=((0.0, 0.06), (0.5, 0.06), (0.5, 0.1), (1.0, 0.1)))
    here, there = split.run(boat), split.run(mirrored(boat))
    for one, other in zip(both(here), both(there), strict=True):
        assert other.mass_kg.value == pytest.approx(one.mass_kg.value, rel=1e-12)
        assert other.centre_m == pytest.approx(np.array(one.centre_m) * [1.0, -1.0, 1.0], abs=1e-12)
        assert other.parts == one.parts
    assert here.lift_out is not None
    assert there.lift_out is not None
    assert there.lift_out.spare_port_m == pytest.approx(here.lift_out.spare_starboard_m, abs=1e-12)
