"""The way in: what passes, what stops it, where and by how much, from the sizes given."""

import math
from dataclasses import replace

import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.studies import fit_slide
from dabchick.studies.fit_slide import Plane
from tests.support.fitting_boats import box_hull, hatched_box, item, skinned, vessel

# Inside, the hull is 994 x 114 x 144 mm: x from 3 to 997 mm, z from 3 to 147 mm, 57 mm to each side.
TOP = (0.0, 0.0, 1.0)


def boat(*parts: object) -> Vessel:
    inner, skin = skinned(box_hull(), 0.003)
    return vessel(box_hull(), [skin, *parts], inside=inner)


def dry(width: float = 0.08, height: float = 0.08, z: float = 0.06, length: float = 0.3):
    return item("tube", "dry", shapes.box(length, width, height).moved((0.5, 0.0, z)))


def test_down_between_straight_walls_keeps_their_distance() -> None:
    # 114 - 80 mm leaves 17 mm on each side all the way; 17 mm are left under it too, at z = 60 mm: 60 - 40 - 3.
    result = fit_slide.run(boat(dry()), "tube", plane=Plane(TOP, 0.1), clearance_m=0.018)
    assert result.verdict == "tight"
    assert result.least_m == pytest.approx(0.017, abs=1e-9)
    assert result.nearest_name == "hull"
    # From its place, underside 20 mm up, to over the opening at 100 mm: 80 mm and the spare.
    assert result.way_m == pytest.approx(0.08 + fit_slide.SPARE_M, abs=1e-9)
    assert fit_slide.run(boat(dry()), "tube", plane=Plane(TOP, 0.1), clearance_m=0.016).verdict == "free"


def test_a_lid_that_stays_on_stops_it_where_it_touches() -> None:
    # Aft through the opened bow, past a bulkhead with a roof at 90 mm: the tube's top at 100 mm meets it.
    sill = item("sill", "solid", shapes.box(0.01, 0.1, 0.05).moved((0.8, 0.0, 0.115)))
    result = fit_slide.run(boat(dry(), sill), "tube", way="bow", plane=Plane((1.0, 0.0, 0.0), 0.9))
    assert result.verdict == "blocked"
    (first,) = [one for one in result.hindrances if one.blocks]
    assert first.name == "sill"
    # The tube's after end is at 350 mm in its place and meets the sill's fore face at 805 mm: 455 mm before.
    assert first.to_go_m == pytest.approx(0.455, abs=5e-5)
    # In the way: 10 mm long, 80 mm wide, from 90 to 100 mm up.
    assert first.overlap_m3 == pytest.approx(0.01 * 0.08 * 0.01, rel=1e-6)
    # The deepest corner of that lies half the sill's length or its height within the way: it is 10 mm in.
    assert 0.0 <= first.depth_m <= 0.0101
    without = fit_slide.run(
        boat(dry(), sill), "tube", way="bow", plane=Plane((1.0, 0.0, 0.0), 0.9), past=False
    )
    assert without.verdict == "free"


def test_an_opening_too_narrow_says_by_how_much() -> None:
    # 120 mm wide, 3 mm more than the inner faces on each side. Over its 20 mm of way below the plane and its place.
    result = fit_slide.run(boat(dry(width=0.12, height=0.04, z=0.1)), "tube", plane=Plane(TOP, 0.11))
    assert result.verdict == "blocked"
    (hull,) = result.hindrances
    assert hull.name == "hull"
    # It stands on the rim: its underside at 80 mm in its place is 30 mm under the plane.
    assert hull.to_go_m == pytest.approx(0.03, abs=5e-5)
    assert hull.depth_m == pytest.approx(0.003, abs=1e-9)
    # Both sides, 3 mm by 30 mm by 300 mm.
    assert hull.overlap_m3 == pytest.approx(2 * 0.003 * 0.03 * 0.3, rel=1e-6)


@pytest.mark.parametrize(
    ("line", "height_m"),
    [
        (((0.0, 0.1), (1.0, 0.1)), 0.1),
        # The tube lies from 350 to 650 mm: the step up to 120 mm is behind it, that to 110 mm over it.
        (((0.0, 0.12), (0.3, 0.12), (0.3, 0.09), (0.6, 0.09), (0.6, 0.11), (1.0, 0.11)), 0.11),
        # Climbing from 80 mm to 180 mm over the whole length: 145 mm at the tube's fore end.
        (((0.0, 0.08), (1.0, 0.18)), 0.145),
    ],
)
def test_the_hull_opens_at_her_break_line(line: tuple[tuple[float, float], ...], height_m: float) -> None:
    opened = fit_slide.run(replace(boat(dry()), break_line_m=line), "tube")
    assert opened.verdict == fit_slide.run(boat(dry()), "tube", plane=Plane(TOP, height_m)).verdict
    assert opened.way_m == pytest.approx(
        fit_slide.run(boat(dry()), "tube", plane=Plane(TOP, height_m)).way_m, abs=1e-12
    )
    assert any("break line" in text for text in opened.assumptions)


def test_what_lies_beyond_the_opening_comes_off_with_it() -> None:
    deck = item("deck", "solid", shapes.box(0.4, 0.02, 0.004).moved((0.5, 0.0, 0.14)))
    result = fit_slide.run(boat(dry(), deck), "tube", plane=Plane(TOP, 0.12))
    assert result.verdict == "free"
    assert any("taken off with the hull" in text and "deck" in text for text in result.assumptions)
    # Opened higher than it hangs, it stays and is in the way: 300 x 20 x 4 mm.
    stays = fit_slide.run(boat(dry(), deck), "tube", plane=Plane(TOP, 0.145))
    assert [one.name for one in stays.hindrances if one.blocks] == ["deck"]
    assert stays.hindrances[0].overlap_m3 == pytest.approx(0.3 * 0.02 * 0.004, rel=1e-6)


def test_contents_go_along_and_stop_it_where_they_stand_out() -> None:
    # A lug on the lid reaches 20 mm over the tube, to 120 mm; a beam at 110 to 116 mm lets only the tube pass.
    lug = item("lug", "inside", shapes.box(0.02, 0.02, 0.04).moved((0.4, 0.0, 0.1)), inside="tube")
    beam = item("beam", "solid", shapes.box(0.01, 0.1, 0.006).moved((0.8, 0.0, 0.113)))
    way = {"way": "bow", "plane": Plane((1.0, 0.0, 0.0), 0.9), "clearance_m": 0.001}
    assert fit_slide.run(boat(dry(), beam), "tube", **way).verdict == "free"
    result = fit_slide.run(boat(dry(), lug, beam), "tube", **way)
    assert result.group == ("tube", "lug")
    assert result.verdict == "blocked"
    # The lug's after face, at 390 mm in its place, meets the beam's fore face at 805 mm.
    assert result.hindrances[0].to_go_m == pytest.approx(0.415, abs=5e-5)


def test_a_slanted_way() -> None:
    # Outward along (1, 0, 1): the tube leaves by 45 deg. A post over its bow end, clear of a way straight up, is hit.
    post = item("post", "solid", shapes.box(0.02, 0.1, 0.02).moved((0.7, 0.0, 0.1)))
    up = fit_slide.run(boat(dry(), post), "tube", plane=Plane(TOP, 0.12))
    assert up.verdict == "free"
    slanted = fit_slide.run(boat(dry(), post), "tube", way=(1.0, 0.0, 1.0), plane=Plane(TOP, 0.12))
    assert slanted.verdict == "blocked"
    assert slanted.outward == pytest.approx((math.sqrt(0.5), 0.0, math.sqrt(0.5)))


def test_a_hollow_part_goes_over_what_stands_in_its_bore() -> None:
    # A ring of 60 mm bore goes over a rod of 40 mm, along the boat: 10 mm all round less what the polygons take.
    ring = item("ring", "solid", shapes.tube(0.02, 0.09, 0.06).moved((0.3, 0.0, 0.07)))
    rod = item("rod", "solid", shapes.cylinder(0.5, 0.04).moved((0.5, 0.0, 0.07)))
    result = fit_slide.run(boat(ring, rod), "ring", way="bow", plane=Plane((1.0, 0.0, 0.0), 0.9))
    assert result.verdict == "free"
    assert result.nearest_name == "rod"
    assert result.least_m == pytest.approx(0.01, abs=1e-5)
    # Down from the top it cannot: the rod stands in its way.
    assert fit_slide.run(boat(ring, rod), "ring", plane=Plane(TOP, 0.14)).verdict == "blocked"


def test_through_the_hatch_of_a_hull_in_one_shell() -> None:
    # The hatch is 200 x 50 mm, the hull not opened otherwise: 40 mm of width pass with 5 mm to each side, 60 mm do not.
    def through(width: float) -> fit_slide.SlideResult:
        solid = hatched_box()
        box = item("box", "solid", shapes.box(0.15, width, 0.04).moved((0.5, 0.0, 0.07)))
        boat = vessel(solid, [item("skin", "skin", solid), box], inside=solid)
        return fit_slide.run(boat, "box", plane=Plane(TOP, 0.2))

    assert through(0.04).verdict == "free"
    assert through(0.04).least_m == pytest.approx(0.005, abs=1e-9)
    stuck = through(0.06)
    assert stuck.verdict == "blocked"
    # It meets the deck's top at 150 mm, its underside 50 mm up in its place; 5 mm on each side of 3 mm of deck.
    assert stuck.hindrances[0].to_go_m == pytest.approx(0.1, abs=5e-5)
    assert stuck.hindrances[0].overlap_m3 == pytest.approx(2 * 0.005 * 0.15 * 0.003, rel=1e-6)


def test_the_usual_openings_are_said() -> None:
    assert any("wished waterline" in text for text in fit_slide.run(boat(dry()), "tube").assumptions)
    bow = fit_slide.run(boat(dry()), "tube", way="bow")
    assert bow.plane == Plane((1.0, 0.0, 0.0), pytest.approx(0.65))
    stern = fit_slide.run(boat(dry()), "tube", way="stern")
    assert stern.plane.offset_m == pytest.approx(-0.35)
    assert stern.verdict == "free"


def test_what_cannot_be_asked_is_explained() -> None:
    cell = item("cell", "inside", shapes.box(0.1, 0.02, 0.02).moved((0.5, 0.0, 0.06)), inside="tube")
    with pytest.raises(BoatError, match="goes in with it"):
        fit_slide.run(boat(dry(), cell), "cell")
    with pytest.raises(BoatError, match="no part or tank 'keel'"):
        fit_slide.run(boat(dry()), "keel")
    with pytest.raises(BoatError, match="no direction"):
        fit_slide.run(boat(dry()), "tube", way=(0.0, 0.0, 0.0))
