"""What holds of any break line and any clearance: halves make the whole, more clearance never more room."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.physics.halves import halves
from dabchick.studies import space, split
from dabchick.studies.room import room_of
from tests.support.fitting_boats import LENGTH_M, fat_spindle, item, skinned, vessel
from tests.support.random_boats import numbers, rotations, steady, vectors

Array = NDArray[np.float64]
Line = tuple[tuple[float, float], ...]


@st.composite
def lines(draw: st.DrawFn, low: float, high: float, least: float, most: float) -> Line:
    """From aft forward, with slopes and upright steps."""
    xs = sorted(draw(st.lists(numbers(low, high), min_size=2, max_size=6, unique=True)))
    points: list[tuple[float, float]] = []
    for x in xs:
        points.append((x, draw(numbers(least, most))))
        if draw(st.booleans()):
            points.append((x, draw(numbers(least, most))))
    return tuple(points)


SOLIDS = (
    shapes.box(0.6, 0.1, 0.2),
    shapes.cylinder(0.7, 0.15),
    shapes.spheroid(0.9, 0.2),
    shapes.cone(0.5, 0.2, 0.05),
)


@steady
@given(st.sampled_from(SOLIDS), rotations(), vectors(0.2), lines(-0.6, 0.6, -0.2, 0.2))
def test_both_sides_of_any_line_make_the_whole(
    solid: shapes.Solid, turn: Array, shift: Array, line: Line
) -> None:
    moved = solid.moved(shift, turn)
    ((vertices, faces, _),) = moved.meshes(36)
    whole = shapes.mesh(vertices, faces).surfaces[0].bulk()
    found = halves(vertices, faces, np.array(line))
    assert found.above.volume >= -1e-15
    assert found.below.volume >= -1e-15
    assert found.above.volume + found.below.volume == pytest.approx(whole.volume, rel=1e-10)
    assert found.above.moment + found.below.moment == pytest.approx(whole.moment, rel=1e-10, abs=1e-14)


@steady
@given(st.sampled_from(SOLIDS), rotations(), lines(-0.6, 0.6, -0.2, 0.2), numbers(0.0, 0.1))
def test_a_higher_line_leaves_no_more_above(
    solid: shapes.Solid, turn: Array, line: Line, rise: float
) -> None:
    ((vertices, faces, _),) = solid.moved(np.zeros(3), turn).meshes(24)
    higher = tuple((x, z + rise) for x, z in line)
    before = halves(vertices, faces, np.array(line)).above.volume
    assert halves(vertices, faces, np.array(higher)).above.volume <= before + 1e-14


def boat() -> Vessel:
    hull = fat_spindle(rings=24, sides=24)
    inner, skin = skinned(hull, 0.002)
    return vessel(
        hull,
        [
            skin,
            item("cylinder", "dry", shapes.cylinder(0.4, 0.08).moved((0.5, 0.0, 0.075)), 2.0),
            item("servo", "solid", shapes.box(0.04, 0.02, 0.04).moved((0.2, 0.03, 0.09)), 0.05),
        ],
        inside=inner,
        waterline_m=0.08,
    )


BOAT = boat()


@steady
@given(lines(0.0, LENGTH_M, 0.03, 0.12), numbers(0.0, 1.0))
def test_halves_of_a_boat_weigh_what_she_weighs(line: Line, spare: float) -> None:
    line = ((0.0, line[0][1]), *line[1:-1], (LENGTH_M, line[-1][1]))
    result = split.run(BOAT, line_m=line)
    masses = [half.mass_kg.value for half in (result.upper, result.lower)]
    assert sum(masses) == pytest.approx(sum(thing.mass_kg for thing in BOAT.items), rel=1e-9)
    moment = sum(
        mass * np.array(half.centre_m)
        for mass, half in zip(masses, (result.upper, result.lower), strict=True)
    )
    whole = sum(thing.mass_kg * np.array(thing.centre_m) for thing in BOAT.items)
    assert moment == pytest.approx(whole, rel=1e-9, abs=1e-9)
    assert {*result.upper.parts, *result.lower.parts} == {"cylinder", "servo"}


@steady
@given(numbers(0.0, 0.01), numbers(0.0, 0.01), numbers(0.0, 0.01))
def test_more_clearance_never_more_space(first: float, second: float, moves: float) -> None:
    near, far = sorted((first, second))
    wide, tight = room_of(BOAT, 0.012, near), room_of(BOAT, 0.012, far)
    assert not (tight.free & ~wide.free).any()
    moving = replace(BOAT, items=(*BOAT.items[:-1], replace(BOAT.items[-1], moves_m=moves)))
    assert not (room_of(moving, 0.012, near).free & ~wide.free).any()


@settings(steady, max_examples=12)
@given(numbers(0.006, 0.02), numbers(0.0, 0.006))
def test_found_places_are_free_to_the_last_corner(cell: float, clearance: float) -> None:
    """Whatever the cell: no corner of a place lies nearer to the cylinder's axis than its radius and the clearance."""
    result = space.run(BOAT, cell_m=cell, clearance_m=clearance)
    for place in (*result.rails, *result.places):
        if place.low_m[0] >= 0.7 or place.high_m[0] <= 0.3:
            continue
        nearest = [
            max(0.0, place.low_m[1], -place.high_m[1]),
            max(0.0, place.low_m[2] - 0.075, 0.075 - place.high_m[2]),
        ]
        assert np.hypot(*nearest) >= 0.04 + clearance - 1e-9
