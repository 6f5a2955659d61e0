"""Free room: against boxes, cylinders and ellipsoids of known volume, by station, and as places that are free."""

import math
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Item, KeepOut, Place, Rail, Vessel
from dabchick.physics import shapes
from dabchick.studies import space
from dabchick.studies.places import find_places
from dabchick.studies.room import SEGMENTS, room_of
from dabchick.studies.space import FoundPlace, SpaceResult
from tests.support.fitting_boats import (
    HEIGHT_M,
    LENGTH_M,
    WATERLINE_M,
    WIDTH_M,
    WISHES,
    box_hull,
    fat_spindle,
    item,
    mirrored,
    skinned,
    vessel,
)

CYLINDER_M = (0.60, 0.08)
ROUND = SEGMENTS / 2 * math.sin(2 * math.pi / SEGMENTS)
"""Area of the polygon that stands for a circle, per radius squared."""


def cylinder() -> Item:
    return item("cylinder", "dry", shapes.cylinder(*CYLINDER_M).moved((0.5, 0.0, 0.07)), 2.0)


def boxed(*items: Item, **changes: object) -> Vessel:
    return replace(vessel(box_hull(), [cylinder(), *items]), **changes)  # type: ignore[arg-type]


def free(result: SpaceResult) -> float:
    return result.free_below_m3 + result.free_above_m3


def floods(result: SpaceResult) -> float:
    return result.floods_below_m3 + result.floods_above_m3


def found(result: SpaceResult) -> tuple[FoundPlace, ...]:
    return (*result.rails, *result.places)


@pytest.fixture(scope="module")
def boat() -> Vessel:
    return boxed()


@pytest.fixture(scope="module")
def answer(boat: Vessel) -> SpaceResult:
    return space.run(boat)


def test_box_with_a_cylinder_comes_to_the_exact_difference_in_first_order(boat: Vessel) -> None:
    """Closed form: 1000 x 120 x 150 mm less a prism of 96 sides for the cylinder; the box fits the cells."""
    exact = LENGTH_M * WIDTH_M * HEIGHT_M - ROUND * 0.04**2 * CYLINDER_M[0]
    cells = (0.0120, 0.0060, 0.0030)
    short = [exact - free(space.run(boat, cell_m=cell, clearance_m=0.0)) for cell in cells]
    # Never more than there is, and short by less than a layer of one cell's diagonal round the cylinder.
    area = math.pi * 0.08 * CYLINDER_M[0] + 2 * math.pi * 0.04**2
    for cell, missing in zip(cells, short, strict=True):
        assert 0.0 < missing < area * cell * math.sqrt(1.5)
    # First order: half the cell, half of what is missing, within what one row of cells makes out.
    for coarse, fine in pairwise(short):
        assert 1.6 < coarse / fine < 2.5


def test_clearance_takes_a_layer_off_every_wall() -> None:
    """Closed form: an empty box less 4 mm on each side; the cells of 4 x 2 x 2 mm fit it exactly."""
    empty = vessel(box_hull())
    result = space.run(empty, cell_m=0.004, clearance_m=0.004)
    exact = (LENGTH_M - 0.008) * (WIDTH_M - 0.008) * (HEIGHT_M - 0.008)
    assert free(result) == pytest.approx(exact, rel=1e-9)
    below = (LENGTH_M - 0.008) * (WIDTH_M - 0.008) * (WATERLINE_M - 0.004)
    assert result.free_below_m3 == pytest.approx(below, rel=1e-9)
    assert floods(result) == pytest.approx(LENGTH_M * WIDTH_M * HEIGHT_M, rel=1e-9)


def ellipsoid() -> Vessel:
    """Half axes 450, 60 and 70 mm, with a cylinder of 300 x 60 mm on its axis."""
    ((vertices, faces, _),) = shapes.sphere(2.0).meshes(240)
    hull = shapes.mesh(vertices * [0.45, 0.06, 0.07] + [0.45, 0.0, 0.07], faces)
    body = item("cylinder", "dry", shapes.cylinder(0.3, 0.06).moved((0.45, 0.0, 0.07)), 1.0)
    return vessel(hull, [body], waterline_m=0.08)


def test_ellipsoid_with_a_cylinder_by_station() -> None:
    """Closed form of the sections: pi b c (1 - (x / a)^2) less the cylinder's polygon; and of the whole."""
    result = space.run(ellipsoid(), cell_m=0.003)
    x = np.array([section.x_m for section in result.sections]) - 0.45
    counted = np.array([section.floods_below_m2 + section.floods_above_m2 for section in result.sections])
    exact = math.pi * 0.06 * 0.07 * np.maximum(1 - (x / 0.45) ** 2, 0.0)
    exact -= np.where(np.abs(x) < 0.15, ROUND * 0.03**2, 0.0)
    # Cells are counted by their middles: in each section an error of half a cell along two outlines at most.
    # The hull's section is at most 410 mm round, the cylinder's 190 mm; cells are 1.5 mm wide.
    assert np.abs(counted - exact).max() < 0.5 * 0.0015 * 0.6
    # Over all of them the errors fall out: the whole comes to a thousandth.
    whole = 4 / 3 * math.pi * 0.45 * 0.06 * 0.07 - ROUND * 0.03**2 * 0.3
    assert floods(result) == pytest.approx(whole, rel=2e-3)
    assert free(space.run(ellipsoid(), cell_m=0.003, clearance_m=0.0)) < whole


def test_ellipsoid_with_a_cylinder_comes_to_the_exact_difference_in_first_order() -> None:
    """Closed form: 4/3 pi a b c less the cylinder's polygon; the hull's mesh of 240 sides lacks 3e-4 of that."""
    whole = 4 / 3 * math.pi * 0.45 * 0.06 * 0.07 - ROUND * 0.03**2 * 0.3
    short = [whole - free(space.run(ellipsoid(), cell_m=cell, clearance_m=0.0)) for cell in (0.016, 0.008)]
    assert 1.7 < short[0] / short[1] < 2.3
    # Area of the ellipsoid by Thomsen's formula (from memory, to 1.2 %), and of the cylinder.
    p = 1.6075
    ab, ac, bc = (0.45 * 0.06) ** p, (0.45 * 0.07) ** p, (0.06 * 0.07) ** p
    area = 4 * math.pi * ((ab + ac + bc) / 3) ** (1 / p) + math.pi * 0.06 * 0.3 + 2 * math.pi * 0.03**2
    for cell, missing in zip((0.016, 0.008), short, strict=True):
        assert 0.0 < missing < area * cell
        # What is said to lie in cut cells at most covers it, and not by far more than twice.
        result = space.run(ellipsoid(), cell_m=cell, clearance_m=0.0)
        assert 0.4 < missing / (result.cut_below_m3 + result.cut_above_m3) < 1.0


def test_stations_add_up_to_the_whole(answer: SpaceResult) -> None:
    for name in ("free_below_m3", "free_above_m3", "floods_below_m3", "floods_above_m3"):
        total = sum(getattr(station, name) for station in answer.stations)
        assert total == pytest.approx(getattr(answer, name), rel=1e-12)
    ends = [(station.aft_m, station.fore_m) for station in answer.stations]
    assert ends[0][0] == 0.0
    assert ends[-1][1] == pytest.approx(LENGTH_M)
    assert all(before[1] == after[0] for before, after in pairwise(ends))


def test_a_station_is_its_sections(answer: SpaceResult) -> None:
    # Between 0 and 50 mm the box is empty: 50 x 120 mm by 90 mm below and 60 mm above the waterline.
    first = answer.stations[0]
    assert first.floods_below_m3 == pytest.approx(0.05 * 0.12 * 0.09, rel=1e-9)
    assert first.floods_above_m3 == pytest.approx(0.05 * 0.12 * 0.06, rel=1e-9)


def test_blocks_are_those_of_the_trim(boat: Vessel, answer: SpaceResult) -> None:
    assert tuple(place.place for place in answer.places) == find_places(boat)


def overlap(first: FoundPlace, second: FoundPlace) -> float:
    edges = np.minimum(first.high_m, second.high_m) - np.maximum(first.low_m, second.low_m)
    return float(np.prod(np.maximum(edges, 0.0)))


def test_rails_are_long_slender_free_and_apart(boat: Vessel, answer: SpaceResult) -> None:
    assert answer.rails
    room = room_of(boat)
    for rail in answer.rails:
        length, width, height = rail.size_m
        assert length >= max(0.08, LENGTH_M / 6) - 1e-9
        assert length >= 4 * max(width, height) - 1e-9
        assert max(width, height) <= 0.040 + 1e-9
        assert width >= 0.010 - 1e-9
        assert height >= 0.005 - 1e-9
        assert rail.volume_m3 == pytest.approx(length * width * height, rel=1e-12)
        assert rail.low_m[2] >= WATERLINE_M - 1e-9 or rail.high_m[2] <= WATERLINE_M + 1e-9
        inside = [
            (room.cells.centres(axis) > rail.low_m[axis]) & (room.cells.centres(axis) < rail.high_m[axis])
            for axis in range(3)
        ]
        assert room.free[np.ix_(*inside)].all()
    assert all(overlap(one, other) < 1e-15 for one, other in combinations(answer.rails, 2))
    names = [place.name for place in found(answer)]
    assert len(set(names)) == len(names)


def test_a_channel_is_the_one_rail() -> None:
    """A hull filled but for a channel of 300 x 40 x 10 mm: the rail is that, less the clearance, to a cell."""
    filled = shapes.box(LENGTH_M, WIDTH_M, HEIGHT_M - 0.01).moved((0.5, 0.0, 0.01 + 0.07))
    ends = [
        item(f"end {x}", "solid", shapes.box(0.35, WIDTH_M, 0.01).moved((x, 0.0, 0.005)))
        for x in (0.175, 0.825)
    ]
    sides = [
        item(f"side {y}", "solid", shapes.box(LENGTH_M, 0.04, 0.01).moved((0.5, y, 0.005)))
        for y in (-0.04, 0.04)
    ]
    result = space.run(vessel(box_hull(), [item("fill", "solid", filled), *ends, *sides]), clearance_m=0.001)
    (rail,) = result.rails
    cell = result.cell_m
    for edge, whole, step in zip(rail.size_m, (0.3, 0.04, 0.01), cell, strict=True):
        assert whole - 0.002 - 2 * step <= edge <= whole - 0.002 + 1e-9
    assert rail.holds == "both"


def test_rails_on_one_side_alone_are_no_thicker_either() -> None:
    filled = shapes.box(LENGTH_M, WIDTH_M / 2, HEIGHT_M).moved((0.5, -WIDTH_M / 4, HEIGHT_M / 2))
    rails = space.run(vessel(box_hull(), [item("fill", "solid", filled)])).rails
    assert rails
    for rail in rails:
        assert rail.low_m[1] >= 0.0
        assert max(rail.size_m[1:]) <= 0.040 + 1e-9


def test_parts_that_move_keep_their_own_room() -> None:
    """Closed form along x: a plate across the hull; free cells begin where the clearance ends."""
    plate = item("plate", "solid", shapes.box(0.02, WIDTH_M, HEIGHT_M).moved((0.5, 0.0, HEIGHT_M / 2)))
    for moves_m in (0.0, 0.001, 0.012):
        result = space.run(vessel(box_hull(), [replace(plate, moves_m=moves_m)]), cell_m=0.004)
        keeps = max(WISHES.clearance_m, moves_m)
        empty = [
            section.x_m for section in result.sections if section.free_below_m2 + section.free_above_m2 == 0.0
        ]
        inner = [x for x in empty if 0.3 < x < 0.7]
        # Cells of 4 mm whose faces come nearer than that to 490 to 510 mm.
        assert min(inner) - 0.002 == pytest.approx(math.ceil((0.490 - keeps) / 0.004 - 1) * 0.004, abs=0.0041)
        assert min(inner) - 0.002 <= 0.490 - keeps + 1e-9
        assert max(inner) + 0.002 >= 0.510 + keeps - 1e-9
        assert len(inner) * 0.004 <= 0.020 + 2 * keeps + 0.008 + 1e-9
        moving = [(part.name, part.clearance_m) for part in result.moving]
        assert moving == ([("plate", moves_m)] if moves_m else [])


def test_nothing_is_found_in_a_keep_out_or_round_what_moves(boat: Vessel) -> None:
    box = KeepOut("hand", (0.02, -0.06, 0.0), (0.18, 0.02, 0.12))
    shaft = replace(
        item("shaft", "solid", shapes.cylinder(0.18, 0.006).moved((0.9, 0.0, 0.04))), moves_m=0.010
    )
    kept = replace(boat, keep_outs=(box,), items=(*boat.items, shaft))
    result = space.run(kept)
    blocked = [
        FoundPlace("block", "keep-out", "both", box.low_m, box.high_m, 0.0, "unknown", ()),
        FoundPlace("block", "shaft", "both", (0.81, -0.013, 0.027), (0.99, 0.013, 0.053), 0.0, "unknown", ()),
    ]
    assert any(overlap(place, other) > 1e-6 for place in found(space.run(boat)) for other in blocked)
    # The square round the shaft's circle reaches farther at its corners, where a place may touch it.
    core = replace(blocked[1], low_m=(0.81, -0.009, 0.031), high_m=(0.99, 0.009, 0.049))
    for place in found(result):
        assert overlap(place, blocked[0]) < 1e-15
        assert overlap(place, core) < 1e-15
    assert result.keep_outs == ("hand",)
    # Trim's own places are the same ones.
    assert tuple(place.place for place in result.places) == find_places(kept)


def test_the_last_trims_lead_is_taken_out(boat: Vessel) -> None:
    lead = replace(
        item("lead", "lead", shapes.box(0.1, 0.05, 0.02).moved((0.1, 0.0, 0.02)), 1.0), from_trim=True
    )
    result = space.run(replace(boat, items=(*boat.items, lead)))
    assert free(result) == pytest.approx(free(space.run(boat)), rel=1e-12)
    assert any("last trim" in text for text in result.assumptions)


def test_a_part_on_a_rail_keeps_its_way_free(boat: Vessel) -> None:
    slide = item("slide", "solid", shapes.box(0.04, 0.04, 0.03).moved((0.1, 0.0, 0.05)))
    fixed = space.run(replace(boat, items=(*boat.items, slide)))
    movable = replace(slide, rail=Rail((1.0, 0.0, 0.0), -0.05, 0.05))
    assert (
        free(space.run(replace(boat, items=(*boat.items, movable)))) < free(fixed) - 0.1 * 0.04 * 0.03 * 0.9
    )


# --- To reach them.


def test_without_a_break_line_nothing_is_known(answer: SpaceResult) -> None:
    assert {place.reach for place in found(answer)} == {"unknown"}


def test_what_lies_under_the_cylinder_is_behind_it_and_what_lies_beside_it_is_open() -> None:
    deep = replace(boxed(), break_line_m=((0.0, 0.12), (LENGTH_M, 0.12)))
    result = space.run(deep)
    under = [
        place
        for place in found(result)
        if place.high_m[2] < 0.03 and place.low_m[0] > 0.25 and place.high_m[0] < 0.75
    ]
    middle = [place for place in under if max(abs(place.low_m[1]), abs(place.high_m[1])) < 0.04]
    ends = [place for place in found(result) if place.high_m[0] < 0.19 and place.high_m[2] < 0.12]
    assert middle
    assert ends
    assert {(place.reach, place.behind) for place in middle} == {("behind", ("cylinder",))}
    assert {place.reach for place in ends} == {"open"}


def test_under_a_hatch_the_ends_are_behind_the_hull() -> None:
    hatch = replace(boxed(), break_line_m=((0.4, 0.14), (0.6, 0.14)))
    for place in found(space.run(hatch)):
        if place.high_m[0] < 0.39:
            assert place.reach == "behind"
            assert place.behind == ("the end of the hull that stays whole",)


# --- Same answer whatever the frame.


def test_mirrored_boat_has_the_mirrored_answer() -> None:
    hull = fat_spindle()
    inner, skin = skinned(hull, 0.002)
    block = item("block", "solid", shapes.box(0.1, 0.03, 0.04).moved((0.3, 0.025, 0.07)))
    keep = KeepOut("hand", (0.6, 0.01, 0.05), (0.7, 0.05, 0.09))
    boat = replace(
        vessel(hull, [skin, replace(block, moves_m=0.004)], inside=inner, waterline_m=0.08),
        keep_outs=(keep,),
        break_line_m=((0.0, 0.08), (1.0, 0.08)),
    )
    here, there = space.run(boat), space.run(mirrored(boat))
    assert free(there) == pytest.approx(free(here), rel=1e-12)
    for one, other in zip(here.stations, there.stations, strict=True):
        assert one.free_below_m3 == pytest.approx(other.free_below_m3, abs=1e-12)

    def over(place: FoundPlace) -> tuple[object, ...]:
        name = place.name.replace("port", "*").replace("starboard", "port").replace("*", "starboard")
        (x0, y0, z0), (x1, y1, z1) = place.low_m, place.high_m
        return (name, place.holds, x0, -y1, z0, x1, -y0, z1, place.reach, place.behind)

    def plain(place: FoundPlace) -> tuple[object, ...]:
        return (place.name, place.holds, *place.low_m, *place.high_m, place.reach, place.behind)

    assert {over(place) for place in found(here)} == {plain(place) for place in found(there)}


# --- What cannot be asked.


@pytest.mark.parametrize("cell_m", [1e-5, 0.0, -0.003, 0.2])
def test_cell_that_is_of_no_use_is_refused_with_what_is_allowed(boat: Vessel, cell_m: float) -> None:
    with pytest.raises(BoatError) as refusal:
        space.run(boat, cell_m=cell_m)
    (advice,) = refusal.value.advice
    assert advice.key == "cell"
    assert ("too small" in advice.what) == (cell_m < 0.1)
    low, high = (float(text.split()[0]) / 1000 for text in advice.allowed.split(" to "))
    # Half the least side of the box; and both ends are taken when they are asked for.
    assert high == pytest.approx(WIDTH_M / 2)
    assert space.run(boat, cell_m=high).cell_m[0] == pytest.approx(high)
    assert 0.0005 < low < 0.003


def test_clearance_below_zero_is_refused(boat: Vessel) -> None:
    with pytest.raises(BoatError, match="makes no sense"):
        space.run(boat, clearance_m=-0.001)


def test_full_hull_has_no_room_and_says_so() -> None:
    block = item("block", "solid", shapes.box(LENGTH_M, WIDTH_M, HEIGHT_M).moved((0.5, 0.0, HEIGHT_M / 2)))
    result = space.run(vessel(box_hull(), [block]))
    assert free(result) == 0.0
    assert found(result) == ()
    assert any("No room is left" in warning.what for warning in result.warnings)


def test_unweighed_parts_are_named(boat: Vessel) -> None:
    result = space.run(replace(boat, unweighed=("servo",)))
    assert any("shown as free" in warning.what and "servo" in warning.what for warning in result.warnings)


def test_surfaces_lie_on_their_side_of_the_waterline(boat: Vessel) -> None:
    shown = space.space_map(boat)
    assert shown.below[0][:, 2].max() <= WATERLINE_M + 1e-12
    assert shown.above[0][:, 2].min() >= WATERLINE_M - 1e-12
    told: list[float] = []
    space.run(boat, progress=lambda text, share: told.append(share))
    assert told == sorted(told)
    assert 0.0 < told[0] < told[-1] < 1.0


def test_own_places_are_no_longer_free(boat: Vessel, answer: SpaceResult) -> None:
    taken = answer.rails[0]
    own = Place("mine", "both", taken.low_m, taken.high_m)
    after = space.run(replace(boat, wishes=replace(boat.wishes, places=(own,))))
    assert free(after) == pytest.approx(free(answer) - taken.volume_m3, rel=1e-9)
    assert all(overlap(place, taken) < 1e-15 for place in found(after))
